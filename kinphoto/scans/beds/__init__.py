"""Several prints on the glass: the place of each (`outlines`), geometry (`places`), and one image each (`cutting`).

Arrays and files in, plain values and files out; the archive is not asked anything.
"""

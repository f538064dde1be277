"""The pages: who is that, and when was it? Served to the browser of the one who keeps the archive.

`app.py` puts the pages together, `guard.py` keeps strangers out, `forms.py` reads what is typed, `render.py` fills the
templates, and `pages/` has one file per page. No rule of dating is here: every page shows what `Archive` answers
and posts what `Archive` records.
"""

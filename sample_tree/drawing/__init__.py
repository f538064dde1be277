"""The drawing program: people, places and old prints, with Pillow and numpy alone, the same pixels every time.

`canvas` puts soft, lit shapes on a picture; `looks`, `hair`, `heads`, `dress` and `figures` draw people; `scenery` draws
what is around them; `prints` turns a drawn scene into a scan of an old print; `lettering` writes by hand.
"""

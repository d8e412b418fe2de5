"""The local API and its page. Nothing here finds anything: it serves what the rooms below find.

`app.create_app` makes the server, `client.Client` (public as `rwtools.Client`) asks it; importing
one does not load the other.
"""

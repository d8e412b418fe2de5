"""Routers, one for each subject."""

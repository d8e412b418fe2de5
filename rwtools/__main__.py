"""``python -m rwtools`` is the same as the command ``rwtools``."""

from rwtools.cli import main

main()

"""Rules of grammar, one file each."""

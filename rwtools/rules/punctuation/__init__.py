"""Rules of punctuation, one file each."""

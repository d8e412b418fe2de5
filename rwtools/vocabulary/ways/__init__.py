"""One module for each way in which writers give a word's meaning."""

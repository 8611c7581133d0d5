"""How what the program holds is put in words, the same on the command line, the page and the sheet."""

"""Colours for editors and pages: a Pygments lexer and a TextMate grammar, both made from the words of the language."""

"""Text becomes a syntax tree with positions: grammar, lexing, recovery. No word is understood here."""

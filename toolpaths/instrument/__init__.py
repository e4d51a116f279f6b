"""Plain formulas of what is built: frets, boards, necks, headstocks, and their wood."""

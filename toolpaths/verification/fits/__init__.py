"""Whether parts of different jobs go together, and onto their jig: numbers and shapes, no program."""

"""Checks of the cut shape against the wanted shape."""

"""Rigs that pass every check, from rows, soil, tractor, limits and the parts at hand."""

"""Text into values: YAML with line numbers, strict fields, and faults that a person can act on."""

"""Findings as people and programs read them: terminal text and JSON."""

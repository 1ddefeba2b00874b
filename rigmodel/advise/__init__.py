"""Advice: rigs that would pass, what to measure, what to change between two rigs."""

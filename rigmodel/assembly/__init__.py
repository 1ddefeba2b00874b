"""Spec and catalogue become a tree of frames and joints that carry solids."""

"""What the shop needs of a rig, as data and files: parts, fasteners, cut list and marks."""

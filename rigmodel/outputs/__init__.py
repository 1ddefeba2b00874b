"""Every output of a checked rig: what there is, and all of it written together."""

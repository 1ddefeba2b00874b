"""Paper for the shop: the setup sheet of a checked rig, and the blank form to measure one."""

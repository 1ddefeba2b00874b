"""Weights, forces and strength: statics of the rig, from what the scene states and nothing else."""

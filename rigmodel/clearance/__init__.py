"""What clears what, proven: signed distances, motion, and the checks that use them.

From the inside out: `engine` proposes directions, `separation` certifies single poses,
`kinematics` flattens a mechanism, `limbs` bounds whole ranges of motion, `search` narrows them
down, `motion` is what the checks call. Each imports only those named before it.
"""

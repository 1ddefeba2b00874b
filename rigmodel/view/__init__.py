"""Pictures of a rig: first described as plain data, then drawn off screen by a child process."""

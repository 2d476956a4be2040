"""What changes a meter file, and what reviews a change of one."""

"""The physics of an unbalanced wheel: numpy and the standard library, nothing else."""

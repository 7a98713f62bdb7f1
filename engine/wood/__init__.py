"""The wood under the film: what is known of it, how much may be sanded away, and its moisture."""

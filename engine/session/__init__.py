"""A guided examination as a list of events on disk; its state is a fold over them."""

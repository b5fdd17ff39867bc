"""A job as folded from its facts. Pure."""

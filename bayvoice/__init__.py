"""bayvoice: a hands-free assistant for a long mechanical job in a workshop bay."""

__version__ = "0.1.0"

"""The record: how facts are chained, sealed, named, kept and taken away."""

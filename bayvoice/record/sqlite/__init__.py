"""The record of a bay: one SQLite file."""

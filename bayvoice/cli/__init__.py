"""The command line: one module a command; it reads arguments, calls and prints."""

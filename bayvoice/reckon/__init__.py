"""The command `bayvoice reckon`: the arithmetic of the trade (`bayvoice.trade`) for a person or a program."""

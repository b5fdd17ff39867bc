"""The computer of the bay: its clock, the files that ship with the product, the log of native libraries."""

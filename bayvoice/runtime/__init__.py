"""A running sitting: the loop, its wiring, sound live and on tape, what is typed on its way in."""

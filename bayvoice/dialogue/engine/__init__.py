"""What every turn of the dialogue rests on: events, effects, the state, the turn."""

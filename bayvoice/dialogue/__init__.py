"""The dialogue of a job, pure: `session.handle(state, event) -> (state, effects)`."""

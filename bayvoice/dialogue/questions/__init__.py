"""Questions that are put beside a step: a value, a batch, the list, consent, a note."""

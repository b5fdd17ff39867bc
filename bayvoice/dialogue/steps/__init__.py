"""What each kind of step asks, lacks, takes as an answer and records."""

"""The Textual view of a job's state: draws what the core knows, hands back the words that keys and clicks stand for."""

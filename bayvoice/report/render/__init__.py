"""A report as page, text, CSV, JSON, JSON lines and PDF. Each walks the report's sections and knows none by name."""

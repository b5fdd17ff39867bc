"""What sections and renderers of a report are made of: words, blocks, markup, pictures, the common state."""

"""Books, credits, words and boxes."""

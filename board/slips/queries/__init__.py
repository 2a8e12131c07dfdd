"""Reading slips: slates, lines, sentences, receipts and what waits for whom."""

"""What can hurt somebody: cautions before any advice, and words that may not be printed."""

"""What a reading means: normal bands of good items, twins, placeholders, limits of the trade."""

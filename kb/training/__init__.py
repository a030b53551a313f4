"""What the shop's history teaches a new hire."""

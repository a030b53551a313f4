"""What was said and measured becomes values: wording, codes, readings, vehicles, forms."""

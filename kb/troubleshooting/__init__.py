"""The open job: what tests say, what an outcome leaves, and the next step."""

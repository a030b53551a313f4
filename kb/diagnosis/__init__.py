"""What it means: ranked causes, fix rates and their intervals."""

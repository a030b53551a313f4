"""What it means: ranked causes, what codes turned out to be, what readings show."""

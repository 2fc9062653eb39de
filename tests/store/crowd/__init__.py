"""Many programs that write to one store at once while others read it."""

"""What databases differ in. `kinds` joins them; `file_reading` reads a file without SQLAlchemy."""

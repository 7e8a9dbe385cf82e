"""Django's SQLite backend, kept safe on every SQLite that a family's computer may have."""

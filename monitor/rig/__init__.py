"""One rig as configured: frozen dataclasses, read from TOML text, every fault listed at once."""

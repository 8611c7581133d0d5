"""Migrations of the casebook. A released one is frozen; what changes later is a new one."""

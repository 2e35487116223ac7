"""The draw: serving orders, cup codes, cover names and the seal, all from one secret."""

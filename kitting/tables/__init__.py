"""The contract of every frame that passes between rooms."""

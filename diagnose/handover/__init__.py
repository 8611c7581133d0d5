"""The sheet that goes to whoever takes the case over."""

"""Answers as text: plain lines first, colour only on top of them."""

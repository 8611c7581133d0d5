"""Figures as evidence: what was measured, and what the station comes to on paper."""

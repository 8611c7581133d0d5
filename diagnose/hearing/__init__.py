"""What people say, and what it stands for."""

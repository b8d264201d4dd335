"""What notebooks show: HTML and small pictures, without matplotlib."""

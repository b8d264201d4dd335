"""What lies between users and the core: errors, text from outside, arrays and columns."""

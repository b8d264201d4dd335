"""What a report says, a file for each section."""

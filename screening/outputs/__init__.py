"""What people look at: terminal and files."""

"""What is asked, and the complete order that it becomes."""

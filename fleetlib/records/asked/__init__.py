"""What the kit asks the person about their record, and the file that keeps what they answered."""

"""What holds for the whole house."""

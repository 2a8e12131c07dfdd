"""The frames of a storyboard sheet: found, put in order, and honestly doubted."""

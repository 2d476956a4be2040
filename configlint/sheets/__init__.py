"""Sheets drawn for one meter, from the meter as it is laid out."""

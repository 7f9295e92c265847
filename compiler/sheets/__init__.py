"""Sheets of paper for those a piece is handed to: one HTML file each, made to be printed."""

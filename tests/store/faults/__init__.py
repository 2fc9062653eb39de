"""Commands that are killed at random moments, and what the store says afterwards."""

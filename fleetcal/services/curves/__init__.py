"""Pooled curves of groups, and every comparison that rests on them."""

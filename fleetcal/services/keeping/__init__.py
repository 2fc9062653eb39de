"""The store itself kept whole: checked, copied, brought back."""

"""What somebody careless or hostile may try, each as a command that counts what fell.

``python -m tests.attacks`` runs them all; a module alone is run by its name, such as
``python -m tests.attacks.undo_chains``.
"""

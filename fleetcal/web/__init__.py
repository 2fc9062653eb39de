"""The page to work in: a small program that serves one user on the machine it runs on.

It parses what a browser sends, calls one service, and answers with a page made by `publish`.
"""

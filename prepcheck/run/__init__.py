"""The single joining place: orders and specs in, results and proofs out.

The command line and library users take the same path: `gather.gather`, then `examine.examine`.
"""

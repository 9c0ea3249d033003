"""Makers of files that stand ready-made in the tree, kept so that they can be made again."""

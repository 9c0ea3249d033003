"""What stands on the sheets, as data: holes and drills, tiles of a drawing, silhouettes on paper.

No PDF, no HTML. Lengths in mm; positions in plate coordinates, seen from the front, unless said.
"""

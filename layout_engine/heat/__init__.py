"""Heat in the closed body: what each part gives off, how warm the air gets, what is too hot.

`enclosure.py` holds the body's effective area, the rise of its air and the sun on it; `board.py`
the heat of one job from its solved supply, margins, and a range for what is touched.
"""

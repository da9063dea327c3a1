"""The phone as an instrument: recordings and clips become rows of the sheets.

`opening` reads recordings and films; `heard` finds what struck when, and turns that into flights of drops and chips;
`view` maps the pixels of a film to the ground, `follow` finds the ball from frame to frame, and `filmed` turns the
track into rows.
"""

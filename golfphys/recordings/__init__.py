"""The phone as an instrument: recordings and clips become rows of the sheets.

`opening` reads recordings and films, and makes some whose truth is known; `heard` finds what struck when, and turns
that into flights of drops and chips; `filmed` maps the pixels of a film to the ground, `follow` finds the ball from
frame to frame, and `filmed` turns its track into rows.
"""

"""The phone as an instrument: recordings and clips become rows of the sheets.

`sound` reads a recording, `onsets` finds what struck when, `heard` turns onsets into flights of drops and chips;
`clip` reads a film, `view` maps its pixels to the ground, `follow` finds the ball from frame to frame, and `filmed`
turns the track into rows.
"""

"""The batch loop: shots from launch to rest, as scalar code that numba compiles.

Everything here is plain Python on `math` and array elements, so that it runs as it is; `linking` makes the compiled
form. The axes of a shot's computation lie in the plane of the green: x along the line of play on the ground, y to the
left on the ground, z square to it; gravity is tilted instead. Strips before the green are planes through lines square
to x.

* `columns`: what the arrays hold;
* `single`: one shot at a time, over strips, or with its path noted;
* `legs`: skid and roll over strips;
* `lanes`: many shots at a time on one plane;
* `laws`: where a user's laws of drag and lift come in;
* `packing`: from the public dataclasses to the rows of the arrays;
* `batch`: all that one call of the loop takes, for any part of the shots;
* `bouncing`: single bounces, each on turf of its own;
* `linking`: compiles all of it, with laws of the user's in place of the library's.
"""

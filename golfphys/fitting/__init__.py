"""Fits of measured sheets: one estimator, then modules for each kind of sheet and for what a fit can be asked.

* `estimator`, `search`, `proposal`, `sampling`, `many_spots`, `results`: one estimator;
* `rollout_layout`, `rollout_model`, `rollout_fit`, `rollout_cautions`, `films`: rolls, filmed or not;
* `turf`: drops;
* `chips`, `chip_physics`, `strikes`, `chip_density`, `chip_model`, `player`, `past`: a player's chips;
* `given`, `fit`, `course_fit`, `course_model`, `course_tables`, `course_cautions`: all in one model;
* `prediction`: new chips, and what plans draw on;
* `compare`: which law; `check_back`: whether a fit holds; `measuring`: what to measure next.
"""

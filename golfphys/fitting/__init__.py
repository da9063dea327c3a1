"""Fits of measured sheets: one estimator, then modules for each kind of sheet and for what a fit can be asked.

* `estimator`, `losses`, `search`, `importance`, `results`, `intervals`: one estimator, and `chain`, its check;
* `rollouts` (with `rollout_fit`, `rollout_layout`, `rollout_model`, `rollout_tables`, `motion`, `identifiability`,
  `reporting`): rolls; `series`: their change over time;
* `traces` (with `films`, `trace_model`): filmed rolls;
* `joint` (with `course_fit` and the `joint_` modules): rolls, drops and chips in one model, which has `turf`,
  `player`, and of a chip log `chips`, `chip_model`, `chip_physics`, `losses_chips`; `prediction`: new chips;
* `compare`, `turf_laws`: which law; `check_back`: whether a fit still holds;
* `design`, `further` (with `preposterior`): which measurements.
"""

"""Fits of measured sheets: the estimator and its results, then modules for each kind of sheet.

* `estimator`, `losses`, `search`, `refresh`, `results`, `intervals`, `mcmc`: one estimator for everything;
* `rollouts` (with `rollout_layout`, `rollout_model`, `rollout_tables`, `motion`, `identifiability`, `reporting`):
rolls;
* `traces` (with `films`, `trace_model`): filmed rolls; `series`: change over time;
* `compare`: which law; `design`: which measurements.
"""

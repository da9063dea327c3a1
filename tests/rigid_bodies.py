"""A ball on a level floor in an independent rigid-body engine, all its softening and damping off."""

from typing import Any

import numpy as np
import pytest

from golfphys import Ball

BALL, STEP = Ball(), 1e-4


def played(
    velocity: Any, spin: Any, friction: float, restitution: float = 0.0, gravity: Any = (0.0, 0.0, 0.0), steps: int = 1
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return place, velocity and spin of a ball that begins on the floor, after steps of a tenth of a millisecond."""
    bullet = pytest.importorskip("pybullet", exc_type=ImportError)
    world = bullet.connect(bullet.DIRECT)
    try:
        none = ("numSubSteps", "erp", "contactERP", "contactSlop", "frictionERP", "solverResidualThreshold")
        fine = {"restitutionVelocityThreshold": 1e-3, "contactBreakingThreshold": 1e-4, "enableConeFriction": 1}
        bullet.setPhysicsEngineParameter(
            fixedTimeStep=STEP, numSolverIterations=200, **fine, **dict.fromkeys(none, 0), physicsClientId=world
        )
        bullet.setGravity(*gravity, physicsClientId=world)
        plane = bullet.createCollisionShape(bullet.GEOM_PLANE, physicsClientId=world)
        floor = bullet.createMultiBody(0, plane, physicsClientId=world)
        sphere = bullet.createCollisionShape(bullet.GEOM_SPHERE, radius=BALL.radius, physicsClientId=world)
        ball = bullet.createMultiBody(BALL.mass, sphere, basePosition=(0, 0, BALL.radius), physicsClientId=world)
        losses = ("linearDamping", "angularDamping", "rollingFriction", "spinningFriction")
        common = {**dict.fromkeys(losses, 0), "maxJointVelocity": 1e9, "physicsClientId": world}
        bullet.changeDynamics(floor, -1, lateralFriction=1.0, restitution=1.0, **common)
        moment = BALL.inertia * BALL.mass * BALL.radius**2
        awake = bullet.ACTIVATION_STATE_DISABLE_SLEEPING
        own = {"lateralFriction": friction, "restitution": restitution, "activationState": awake}
        bullet.changeDynamics(ball, -1, localInertiaDiagonal=(moment,) * 3, **own, **common)
        bullet.resetBaseVelocity(ball, velocity, spin, physicsClientId=world)
        for _ in range(steps):
            bullet.stepSimulation(physicsClientId=world)
        place = bullet.getBasePositionAndOrientation(ball, physicsClientId=world)[0]
        return tuple(map(np.array, (place, *bullet.getBaseVelocity(ball, physicsClientId=world))))
    finally:
        bullet.disconnect(world)

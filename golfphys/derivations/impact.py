"""Oblique impact of a spinning sphere on a surface, derived once: ball on turf, and club face on ball.

A sphere of mass m, radius r and moment of inertia k m r^2 meets the surface of a body of mass M at a point, with unit
normal n on the ball's side. The impact is short: positions do not change and only the impulse J at the contact acts.
The line of the impulse passes the body's centre closely enough that the body does not turn; q = m/M is 0 for the
ground. All velocities are measured relative to the body before the impact, so for a club they are taken in the moving
frame of the face.

With J = m (P n + T), T along the surface, the ball's motion changes by

    v' = v + P n + T,      spin' = spin - (n x T) / (k r),

and the body recoils by -q (P n + T). The contact point of the ball moves over the body with the slip
s = (v - (v.n) n) + spin x (-r n).

- Normal: the bodies part at the restitution times the speed of approach.
- Tangential: if friction can bring the slip to -e_t times itself (e_t: tangential restitution; 0 ends rolling), the
  contact grips. Otherwise it slips throughout and Coulomb's law gives T = -mu P along the slip.

Cross, Am. J. Phys. 70, 1093 (2002), treats the plane case with both restitutions; Garwin, Am. J. Phys. 37, 88 (1969),
is e = e_t = 1.
"""

import sympy

from golfphys.derivations.writer import Formula, real, symbol, vector

velocity = vector("velocity")
spin = vector("spin")
normal = vector("normal")
restitution, friction = symbol("restitution"), symbol("friction")
tangential_restitution, mass_ratio = symbol("tangential_restitution"), symbol("mass_ratio")
radius, inertia = symbol("radius"), symbol("inertia")

SOURCE = "rigid impulse with friction, Cross, Am. J. Phys. 70, 1093 (2002)"


# What happens along the normal: rise is v.n before, P the impulse over the ball's mass.
rise, approach, normal_impulse = real("rise"), real("approach"), real("normal_impulse")
parting = rise + normal_impulse * (1 + mass_ratio)
push_solved = sympy.solve(sympy.Eq(parting, -restitution * rise), normal_impulse)[0].subs(rise, -approach)

# What happens along the surface: a tangential impulse T over m changes the slip by
# T from the ball's centre, T/k from its spin (n x (n x T) = -T), and q T from the body's recoil.
slip_before, tangential_impulse = real("slip_before"), real("tangential_impulse")
slip_after = slip_before + tangential_impulse * (1 + 1 / inertia + mass_ratio)
grip_solved = sympy.solve(sympy.Eq(slip_after, -tangential_restitution * slip_before), tangential_impulse)[0]
grip_share = sympy.simplify(-grip_solved / slip_before)

# In vectors. A body that is not approached gets no impulse: approach is never negative.
push, grip, slip_speed = real("push"), real("grip"), real("slip_speed")
slip = sympy.Matrix([real(f"slip_{axis}") for axis in "xyz"])
slip_of_motion = velocity - rise * normal + spin.cross(-radius * normal)

definitions = (
    (rise, velocity.dot(normal)),
    (approach, sympy.Max(0, -rise)),
    *zip(slip, slip_of_motion, strict=True),
    (slip_speed, sympy.sqrt(slip.dot(slip))),
    (push, push_solved),
    (grip, grip_share),
)


def motion_after(tangential: sympy.Matrix) -> dict[str, sympy.Expr]:
    """Return the ball's motion after normal impulse `push` and the tangential impulse given, both over its mass."""
    velocity_after = velocity + push * normal + tangential
    spin_after = spin - normal.cross(tangential) / (inertia * radius)
    names = [f"velocity_{axis}" for axis in "xyz"] + [f"spin_{axis}" for axis in "xyz"]
    return dict(zip(names, [*velocity_after, *spin_after], strict=True))


FORMULAS = (
    Formula(
        name="impact",
        arguments=(
            *(*velocity, *spin, *normal, restitution, friction),
            *(tangential_restitution, mass_ratio, radius, inertia),
        ),
        definitions=definitions,
        cases=(
            (grip * slip_speed <= friction * push, motion_after(-grip * slip)),
            (sympy.true, motion_after(-friction * push * slip / slip_speed)),
        ),
        summary="Motion of a sphere after an oblique impact, relative to the body it met before the impact.",
        source=SOURCE,
    ),
    Formula(
        name="slip_limit_ratio",
        arguments=(restitution, friction, tangential_restitution, mass_ratio, inertia),
        returns=friction * (1 + restitution) / (1 + mass_ratio) / grip_share,
        summary="Slip over speed of approach above which an impact slips throughout and below which it grips.",
        source=SOURCE,
    ),
)

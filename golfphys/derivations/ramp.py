"""The release ramp, green speed, and what readings both ways say.

**Release.** A ball that rolls in a V-groove rides on two contacts a distance w apart, so that it turns about a chord:
its rolling radius is rho = sqrt(r^2 - (w/2)^2), and it spins at omega = v/rho. Down a run l at angle theta it gains

    m g l sin(theta) = m v^2/2 + k m r^2 omega^2/2.

It leaves with r omega/v = r/rho above 1, overspin: on the green the skid (chapter `skid`) turns some of it into speed.
Losses in the groove and at its lower end are left out, so this is an upper bound for the release speed.

**Green speed** is the distance S that a released ball rolls on the level: S = (1 + k) v^2/(2 g c) under constant
resistance, from chapter `rolling`.

**Both ways.** On a steady grade the ball rolls S_up = D/(c + grade) uphill and S_down = D/(c - grade) downhill, with
one D = (1 + k) v^2 sqrt(1 + grade^2)/(2 g). So 1/S_up + 1/S_down = 2 c/D: the harmonic mean of the two is D/c, without
the grade, whatever the grade: the green speed, but for the factor sqrt(1 + grade^2) of distances along the slope,
2 parts in 10000 at 2 %. The plain mean is D c/(c^2 - grade^2), always longer. And (S_down - S_up)/(S_down + S_up)
is grade/c: the fraction of the slope that never stops a ball.
"""

import sympy

from golfphys.derivations.writer import Formula, sourced, symbol

run, angle, spacing = symbol("ramp_run"), symbol("ramp_angle"), symbol("contact_spacing")
radius, gravity, inertia = symbol("radius"), symbol("gravity"), symbol("inertia")
up, down = symbol("distance_up"), symbol("distance_down")

rolling_radius = sympy.sqrt(radius**2 - spacing**2 / 4)
u = sympy.Symbol("u", positive=True)
gained = gravity * run * sympy.sin(angle)
kept = u**2 / 2 + inertia * radius**2 * (u / rolling_radius) ** 2 / 2
release_speed = sympy.solve(sympy.Eq(gained, kept), u)[0]
overspin = radius / rolling_radius

# the groove's flanks touch the ball at right angles to its radii
groove_angle = 2 * sympy.acos(spacing / (2 * radius))

# both ways, from chapter rolling: solve the two distances for resistance and grade
reach = sympy.Symbol("reach", positive=True)  # D above
c, s = sympy.symbols("c s", real=True)
solution = sympy.solve([sympy.Eq(up * (c + s), reach), sympy.Eq(down * (c - s), reach)], [c, s], dict=True)[0]
two_way_mean = sympy.simplify(reach / solution[c])
share = sympy.simplify(solution[s] / solution[c])

SOURCE = "Brede, Agronomy Journal 83, 425 (1991) for the mean; derived from chapter rolling"
RAMP_SOURCE = "energy of a sphere that rolls on two contacts; run, angle and contacts of the USGA ramp's booklet"

FORMULAS = sourced(
    RAMP_SOURCE,
    Formula(
        name="release_speed",
        arguments=(run, angle, spacing, radius, gravity, inertia),
        returns=release_speed,
        summary="Speed in m/s of a ball at the foot of a V-grooved ramp without losses.",
    ),
    Formula(
        name="release_overspin",
        arguments=(spacing, radius),
        returns=overspin,
        summary="Rim speed over speed of a ball rolling in a V-groove: 1 is rolling on a plane.",
    ),
    Formula(
        name="groove_angle",
        arguments=(spacing, radius),
        returns=groove_angle,
        summary="Angle in rad between the flanks of a V-groove that a ball touches at contacts this far apart.",
    ),
    Formula(
        name="two_way_mean",
        arguments=(up, down),
        returns=two_way_mean,
        summary="Distance in m on the level from distances up and down one slope: their harmonic mean.",
        source=SOURCE,
    ),
    Formula(
        name="slope_share",
        arguments=(up, down),
        returns=share,
        summary="Grade over resistance from distances up and down one slope: at 1 no ball stops.",
        source=SOURCE,
    ),
)

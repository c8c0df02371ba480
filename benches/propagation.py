"""Times one assessment in Python and gives its figures: the same relations, uncertainties and intervals, each error carried
to first order by one of two libraries.

Reads readings in inHg as arguments; prints one JSON document: for each library the microseconds for one reading, and for
each reading value, low and high of leak, hole, standard reading, air flow, clearance, oil through the gap and through a hole.
"""

import json
import math
import sys
import time

import GTC
import uncertainties
import uncertainties.umath

INHG = 3386.389
GAS = 287.05
K = 0.4 / 1.4
PHI_STAR = math.sqrt(7.0 * ((5 / 6) ** 5 - (5 / 6) ** 6))
R_STAR = (5 / 6) ** 3.5
R3 = math.sqrt(3.0)

# The rig, its dial (grade B, 30 inHg, marks every half), the land and the working pressure of the oil.
ROOM, PLUGGED, THROUGH, AIR = 98000.0, 24.0 * INHG, 4.75 * INHG, 296.15
SPAN, DIVISION, OUTER, MIDDLE = 30 * INHG, 0.5 * INHG, 0.03, 0.02
BORE, LENGTH, PRESSURE = 0.0127, 0.00762, 1.0e6
ORIFICE, HOSE, COEFFICIENT = 0.000889, 0.00635, 0.82
LAND_LIMIT = math.hypot(0.05e-3 / BORE, 0.05e-3 / LENGTH)


class Plain:
    exp, log, sqrt = staticmethod(math.exp), staticmethod(math.log), staticmethod(math.sqrt)

    @staticmethod
    def value(number):
        return number

    @staticmethod
    def settled(figure):
        return figure


class Uncertainties:
    exp, log, sqrt = (staticmethod(function) for function in (
        uncertainties.umath.exp, uncertainties.umath.log, uncertainties.umath.sqrt))
    number = staticmethod(uncertainties.ufloat)
    value = staticmethod(uncertainties.nominal_value)

    @staticmethod
    def settled(figure):
        """Works out the derivatives of what is used more than once, which else is done again for each use."""
        getattr(figure, "derivatives", None)
        return figure

    @staticmethod
    def slope(figure, number):
        return figure.derivatives[number]

    @staticmethod
    def components(figure, numbers):
        parts = figure.error_components()
        return [parts.get(number, 0.0) for number in numbers]


class Gtc:
    exp, log, sqrt = staticmethod(GTC.exp), staticmethod(GTC.log), staticmethod(GTC.sqrt)
    number = staticmethod(GTC.ureal)
    value = staticmethod(GTC.value)
    settled = staticmethod(Plain.settled)

    @staticmethod
    def slope(figure, number):
        return GTC.rp.sensitivity(figure, number)

    @staticmethod
    def components(figure, numbers):
        return [abs(GTC.rp.u_component(figure, number)) for number in numbers]


# The rig.

def opening(maths, vacuum, room):
    """Bleed and circuit over the sonic inlet valve."""
    ratio = 1 - vacuum / room
    if maths.value(ratio) <= R_STAR:
        return ratio
    y = maths.settled(maths.exp(-K * maths.log(ratio)))
    return maths.settled(PHI_STAR / maths.sqrt(7.0 * y * (y - 1)))


def vacuum_of(opening_ratio, room):
    if opening_ratio <= R_STAR:
        return room * (1 - opening_ratio)
    y = (1 + math.sqrt(1 + 4 / 7 * (PHI_STAR / opening_ratio) ** 2)) / 2
    return room * (1 - y ** (-1 / K))


def air_flow(maths, area, effective, vacuum, room, temperature):
    ratio = maths.settled(1 - vacuum / room)
    phi = PHI_STAR if maths.value(ratio) <= R_STAR else ratio * PHI_STAR / opening(maths, vacuum, room)
    return maths.settled(area * effective * room * phi / maths.sqrt(GAS * temperature))


def needle(ratio, critical):
    return 1.0 if ratio <= critical else math.sqrt(1 - ((ratio - critical) / (1 - critical)) ** 2)


def nozzle(ratio):
    return 1.0 if ratio <= R_STAR else math.sqrt(7 * (ratio ** (1 / 0.7) - ratio ** (1.2 / 0.7))) / PHI_STAR


def valve_limits(vacuum, area):
    """How far the area may be off, over it, where the bleed is a needle valve and no nozzle: here, and about the middle."""
    below, above, here = (opening(Plain, point, ROOM) for point in (PLUGGED, THROUGH, vacuum))
    at_rest, at_orifice, at_reading = (1 - point / ROOM for point in (PLUGGED, THROUGH, vacuum))
    areas = []
    for critical in (0.2, 0.35, 0.5):
        bleed = below * nozzle(at_rest) / needle(at_rest, critical)
        work = here - bleed * needle(at_reading, critical) / nozzle(at_reading)
        areas.append(work / (above - bleed * needle(at_orifice, critical) / nozzle(at_orifice)))
    return [max(abs(other - taken) for other in areas) / taken for taken in (area, areas[1])]


# The land.

def balance(maths, clearance, flow, vacuum, room, temperature, slip):
    """What a flow uses of the pressure in a clearance, and what there is; and how the former goes with the clearance."""
    gauge = room - vacuum
    viscosity = maths.settled(1.458e-6 * temperature * maths.sqrt(temperature) / (temperature + 110.4))
    thermal = 2 * GAS * temperature
    free_path = viscosity * maths.sqrt(math.pi * thermal / 4)
    flux = maths.settled(flow / (math.pi * (BORE - clearance) * clearance))
    exit_pressure = maths.settled(flux * maths.sqrt(0.6 * thermal))
    if maths.value(exit_pressure) < maths.value(gauge):
        exit_pressure = gauge
    head = maths.settled(1.674 * flux * flux)
    entered = maths.settled((room + maths.sqrt(room * room - thermal * head)) / 2)
    slipping = maths.settled(2 * slip * free_path / ((room + exit_pressure) * clearance))
    friction = maths.settled(12 * viscosity * LENGTH * flux / (clearance * clearance * (1 + slipping)))
    acceleration = maths.settled(1.2 * flux * flux * maths.log(entered / exit_pressure))
    inlet = maths.settled((room - entered) * (room + entered) / thermal)
    driving = maths.settled((room - exit_pressure) * (room + exit_pressure) / thermal)
    power = maths.value(friction) * (-3 + maths.value(slipping / (1 + slipping)))
    power -= 2 * maths.value(acceleration + inlet)
    return friction + acceleration + inlet, driving, power


def newton(maths, clearance, *state):
    """One step towards the clearance; from the solution itself it carries the uncertainties (implicit function)."""
    used, driving, power = balance(maths, clearance, *state)
    step = maths.settled(-(used - driving) / power)
    return clearance * (1 + step + 0.5 * step * step)


def clearance_of(flow, vacuum, room, temperature, slip=6.0):
    if flow <= 0:
        return 0.0
    drive = math.pi * BORE * vacuum * (2 * room - vacuum)
    viscosity = 1.458e-6 * temperature * math.sqrt(temperature) / (temperature + 110.4)
    clearance = (24 * viscosity * GAS * temperature * LENGTH * flow / drive) ** (1 / 3)
    for _ in range(12):
        before, clearance = clearance, newton(Plain, clearance, flow, vacuum, room, temperature, slip)
        if abs(clearance - before) <= 1e-5 * clearance:
            break
    return clearance


def lying(clearance_of_centred, flow, vacuum, slip):
    """The clearance of a valve that touches its bore: 2.5 times as much passes, so a centred one of 2.5 times the length."""
    global LENGTH
    LENGTH /= 2.5
    try:
        return clearance_of_centred(flow, vacuum, ROOM, AIR, slip)
    finally:
        LENGTH *= 2.5


# The standard rig, whose own points are exact.

STANDARD = opening(Plain, 25 * INHG, 101325), opening(Plain, 5 * INHG, 101325)
STANDARD_AREA = COEFFICIENT * math.pi / 4 * ORIFICE * ORIFICE


def standard_excess(maths, clearance, vacuum):
    below, above = STANDARD
    area = (opening(Plain, vacuum, 101325) - below) / (above - below)
    flow = air_flow(Plain, area, STANDARD_AREA, vacuum, 101325, 293.15)
    used, driving, _ = balance(maths, clearance, flow, vacuum, 101325, 293.15, 6.0)
    return used - driving


def standard_reading(clearance, guess):
    """What the standard rig shows for a clearance, and how the excess falls there."""
    vacuum, step = guess, 1.0
    for _ in range(20):
        excess = standard_excess(Plain, clearance, vacuum)
        slope = (standard_excess(Plain, clearance, vacuum - step) - excess) / -step
        move = excess / slope
        vacuum = min(max(vacuum - move, 0.2 * vacuum), 0.5 * (vacuum + 25 * INHG))
        if abs(move) < 0.1:
            break
    return vacuum, slope


# Intervals.

def tail(error, normal, half_width):
    near, far = (half_width - error) / normal, (-half_width - error) / normal
    below_near, below_far = (0.5 * math.erfc(-z / math.sqrt(2)) for z in (near, far))
    bell = [math.exp(-z * z / 2) / math.sqrt(2 * math.pi) for z in (near, far)]
    whole = near * below_near + bell[0] - far * below_far - bell[1]
    return whole * normal / (2 * half_width), (below_near - below_far) / (2 * half_width)


def interval(centre, lowest, highest, normal, half_width):
    """The shortest one with 95 % of what is left of a normal and a rectangular error between two bounds."""
    down, up = centre - lowest, highest - centre
    nearer, farther = min(down, up), max(down, up)
    cut = tail(nearer, normal, half_width)[0]
    lost = 0.0 if math.isinf(farther) else tail(farther, normal, half_width)[0]
    kept = 0.95 * (1 - cut - lost)
    wanted = (1 - kept) / 2 if (1 - kept) / 2 >= cut else 1 - kept - cut
    width = 1.9 * math.sqrt(normal**2 + half_width**2 / 3)
    for _ in range(20):
        share, density = tail(width, normal, half_width)
        move = (share - wanted) / density
        width = max(width + move, 0.5 * width)
        if abs(share - wanted) < 1e-6:
            break
    return centre - min(width, down), centre + min(width, up)


# The dial.

def limit_at(vacuum):
    return (MIDDLE if 0.25 <= vacuum / SPAN <= 0.75 else OUTER) * SPAN


def look_limit(vacuum):
    return max(0.8 * 0.01 * SPAN, 0.3 * limit_at(vacuum))


def dial_limits():
    left = [limit_at(place * SPAN) ** 2 - look_limit(place * SPAN) ** 2 for place in (0.5, 1.0)]
    offset = math.sqrt(0.4 * left[0])
    return offset, math.sqrt(min(0.4 * left[0] / 0.75**2, left[1] - offset**2)) / SPAN


def shapes(vacua, offset, gain):
    """Factors that make three independent numbers the own errors of three places (Cholesky)."""
    limits = [
        math.sqrt(0.05 * max(limit_at(v) ** 2 - offset**2 - (gain * v) ** 2 - look_limit(v) ** 2, 0.0)) / R3
        for v in vacua
    ]
    ab, ac, bc = (
        math.exp(-(((vacua[one] - vacua[other]) / (0.35 * SPAN)) ** 2)) for one, other in ((0, 1), (0, 2), (1, 2))
    )
    second = math.sqrt(max(1 - ab * ab, 0.0))
    mixed = (bc - ab * ac) / second if second > 0 else 0.0
    third = math.sqrt(max(1 - ac * ac - mixed * mixed, 0.0))
    rows = ((1.0, 0.0, 0.0), (ab, second, 0.0), (ac, mixed, third))
    return [[limit * factor for factor in row] for limit, row in zip(limits, rows)]


# The oil.

def oil():
    """Dynamic viscosity and density of the oil at 93 C."""
    kelvin = 366.15
    nearer, farther = (math.log10(math.log10(nu + 0.7)) for nu in (34.0, 7.4))
    b = (nearer - farther) / (math.log10(373.15) - math.log10(313.15))
    kinematic = 10 ** 10 ** (nearer - b * (math.log10(kelvin) - math.log10(313.15))) - 0.7
    expansion = 0.6278 / 865 * (kelvin - 288.15)
    density = 865 * math.exp(-expansion * (1 + 0.8 * expansion))
    return kinematic * 1e-6 * density, density


def annulus_loss(clearance, viscosity):
    return math.pi * (BORE - clearance) * clearance**3 * PRESSURE / (12 * viscosity * LENGTH)


def assess(library, reading, viscosity, density):
    maths, number, value = library, library.number, library.value
    vacuum_seen = reading * INHG
    vacua = (vacuum_seen, PLUGGED, THROUGH)
    offset_limit, gain_limit = dial_limits()
    factors = shapes(vacua, offset_limit, gain_limit)
    offset, gain = number(0.0, offset_limit / R3), number(0.0, gain_limit / R3)
    shape = [number(0.0, 1.0) for _ in vacua]
    looks = [number(0.0, look_limit(vacuum) / R3) for vacuum in vacua]
    scatter = [number(0.0, DIVISION / 4) for _ in vacua]
    rounding = [number(0.0, DIVISION / 8 / R3) for _ in vacua]
    room, temperature = number(ROOM, 100.0), number(AIR, 1.0)
    bore, coefficient = number(ORIFICE, 0.0000127 / R3), number(COEFFICIENT, 0.03 / R3)

    def shown(n):
        own = sum(factor * part for factor, part in zip(factors[n], shape) if factor)
        return library.settled(vacua[n] + offset + gain * vacua[n] + own + looks[n] + scatter[n] + rounding[n])

    vacuum, plugged, through = (shown(n) for n in range(3))
    below, above = opening(maths, plugged, room), opening(maths, through, room)
    area = library.settled((opening(maths, vacuum, room) - below) / (above - below))
    here, middle = (number(1.0, limit / R3) for limit in valve_limits(vacuum_seen, value(area)))
    through_ratio = 1 - THROUGH / ROOM
    way = min(abs(through_ratio - (1 - vacuum_seen / ROOM)) / (through_ratio - R_STAR), 1.0)
    change = number(1.0, 0.03 * way / R3)
    land, liquid = number(1.0, LAND_LIMIT / R3), number(1.0, 0.03 / 0.82 / R3)
    # Each a rectangle; the rounding of the calibration counts as normal, with its scatter.
    rectangles = (rounding[0], offset, gain, here, middle, change, land, liquid, coefficient, bore)
    normals = (*shape, *looks, *scatter, *rounding[1:], room, temperature)

    leak = library.settled(area * change * here)
    hole = library.settled(bore * maths.sqrt(leak))
    effective = coefficient * math.pi / 4 * bore * bore
    flow = air_flow(maths, area * here, effective, vacuum, room, temperature)
    plain_flow = value(flow)
    clearance_now = clearance_of(plain_flow, vacuum_seen, ROOM, AIR)
    in_gap = flow * land / (vacuum * (2 * room - vacuum)) * temperature * maths.sqrt(temperature) ** 3 / (temperature + 110.4)
    alike = air_flow(maths, area * middle, STANDARD_AREA * (bore / ORIFICE) ** 2, vacuum, room, temperature)
    gap = newton(maths, clearance_now, alike, vacuum, room, temperature, 6.0)
    standard_now, slope = standard_reading(clearance_now, vacuum_seen * 101325 / ROOM)
    standard = standard_now - standard_excess(maths, gap, standard_now) / slope
    oil_hole = hole * hole * liquid

    low, high = value(below), value(above)
    plain_effective = value(effective)
    open_hose = vacuum_of(low + (HOSE / ORIFICE) ** 2 * (high - low), ROOM)

    def parts(figure):
        sides = library.components(figure, rectangles)
        largest = max(sides)
        squares = sum(part * part for part in sides) - largest * largest
        squares += sum(part * part for part in library.components(figure, normals))
        return math.sqrt(squares), largest * R3

    def ends(figure):
        by_reading = abs(library.slope(figure, scatter[0]))
        normal, half_width = parts(figure)
        return interval(vacuum_seen, open_hose, PLUGGED, normal / by_reading, half_width / by_reading)

    def area_at(end):
        return max(opening(Plain, end, ROOM) - low, 0.0) / (high - low)

    def flow_at(end):
        return air_flow(Plain, area_at(end), plain_effective, end, ROOM, AIR)

    def standard_at(end):
        clearance = clearance_of(flow_at(end), end, ROOM, AIR)
        if clearance == 0:
            return 25 * INHG
        return standard_reading(clearance, min(end * 101325 / ROOM, 24.999 * INHG))[0]

    shallow, deep = ends(in_gap)
    air = [flow_at(shallow), shallow], [flow_at(deep), deep]
    widest = clearance_of(*air[0], ROOM, AIR, 6.0), lying(clearance_of, *air[0], 6.0)
    narrowest = clearance_of(*air[1], ROOM, AIR, 7.8), lying(clearance_of, *air[1], 7.8)
    jet = COEFFICIENT * math.pi / 4 * ORIFICE**2 * math.sqrt(2 * PRESSURE / density)
    leak_now = value(leak)
    by_leak = [[area_at(end) for end in ends(figure)] for figure in (leak, hole, oil_hole)]
    figures = [
        (leak_now, *by_leak[0]),
        (value(hole), *(ORIFICE * math.sqrt(end) for end in by_leak[1])),
        (standard_now, *(standard_at(end) for end in ends(standard))),
        (plain_flow, *interval(plain_flow, 0.0, math.inf, *parts(flow))),
        (clearance_now, narrowest[1], widest[0]),
        (
            annulus_loss(clearance_now, viscosity),
            min(annulus_loss(narrowest[0], viscosity), 2.5 * annulus_loss(narrowest[1], viscosity)),
            max(annulus_loss(widest[0], viscosity), 2.5 * annulus_loss(widest[1], viscosity)),
        ),
        (leak_now * jet, *(end * jet for end in by_leak[2])),
    ]
    budget = library.components(standard, rectangles + normals)
    return figures, budget


def main():
    readings = [float(text) for text in sys.argv[1:]]
    viscosity, density = oil()
    found = {}
    for name, library in (("uncertainties", Uncertainties), ("GTC", Gtc)):
        best = math.inf
        for _ in range(40):
            start = time.perf_counter()
            for reading in readings:
                assess(library, reading, viscosity, density)
            best = min(best, (time.perf_counter() - start) / len(readings))
        figures = []
        for reading in readings:
            told = assess(library, reading, viscosity, density)[0]
            figures.append([[value, *sorted(ends)] for value, *ends in told])
        found[name] = {"microseconds": best * 1e6, "figures": figures}
    print(json.dumps(found))


if __name__ == "__main__":
    main()

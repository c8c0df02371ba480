"""Times one assessment in Python: the same relations, their uncertainties to first order with one of two libraries, the
ends of the intervals carried through the relations, and the budget of the standard reading.

Prints a line for each library: its name and the microseconds for one reading. The readings in inHg are the arguments.
"""

import math
import sys
import time

import GTC
import uncertainties
import uncertainties.umath

INHG = 3386.389
K = 0.4 / 1.4
PHI_STAR = math.sqrt(7.0 * ((5 / 6) ** 5 - (5 / 6) ** 6))
R_STAR = (5 / 6) ** 3.5
R3 = math.sqrt(3.0)
BORE, LENGTH, PRESSURE = 0.0127, 0.00762, 1.0e6


class Plain:
    exp, log, sqrt = staticmethod(math.exp), staticmethod(math.log), staticmethod(math.sqrt)

    @staticmethod
    def value(number):
        return number


class Uncertainties:
    exp, log, sqrt = (staticmethod(function) for function in (
        uncertainties.umath.exp, uncertainties.umath.log, uncertainties.umath.sqrt))
    number = staticmethod(uncertainties.ufloat)
    value = staticmethod(uncertainties.nominal_value)
    deviation = staticmethod(uncertainties.std_dev)

    @staticmethod
    def slope(figure, number):
        return figure.derivatives[number]

    @staticmethod
    def budget(figure):
        return figure.error_components()


class Gtc:
    exp, log, sqrt = staticmethod(GTC.exp), staticmethod(GTC.log), staticmethod(GTC.sqrt)
    number = staticmethod(GTC.ureal)
    value = staticmethod(GTC.value)
    deviation = staticmethod(GTC.uncertainty)

    @staticmethod
    def slope(figure, number):
        return GTC.rp.sensitivity(figure, number)

    @staticmethod
    def budget(figure):
        return GTC.rp.budget(figure)


def opening(maths, vacuum, room):
    ratio = 1 - vacuum / room
    if maths.value(ratio) <= R_STAR:
        return ratio
    y = maths.exp(-K * maths.log(ratio))
    return PHI_STAR / maths.sqrt(7.0 * y * (y - 1))


# The standard rig, whose own points are exact.
BELOW = opening(Plain, 25 * INHG, 101325)
ABOVE = opening(Plain, 5 * INHG, 101325)


def standard_reading(maths, area):
    g = BELOW + area * (ABOVE - BELOW)
    if maths.value(g) <= R_STAR:
        return 101325 * (1 - g)
    y = (1 + maths.sqrt(1 + 4 / 7 * (PHI_STAR / g) ** 2)) / 2
    return 101325 * (1 - maths.exp(-maths.log(y) / K))


def air_flow(maths, area, effective, vacuum, room, temperature):
    ratio = 1 - vacuum / room
    phi = PHI_STAR if maths.value(ratio) <= R_STAR else ratio * PHI_STAR / opening(maths, vacuum, room)
    return area * effective * room * phi / maths.sqrt(287.05 * temperature)


def newton(maths, clearance, flow, vacuum, room, temperature):
    """One step towards the clearance; from the solution itself it carries the uncertainties (implicit function)."""
    gauge = room - vacuum
    viscosity = 1.458e-6 * temperature * maths.sqrt(temperature) / (temperature + 110.4)
    thermal = 2 * 287.05 * temperature
    free_path = viscosity * maths.sqrt(math.pi * thermal / 4)
    flux = flow / (math.pi * (BORE - clearance) * clearance)
    exit_pressure = flux * maths.sqrt(0.6 * thermal)
    if maths.value(exit_pressure) < maths.value(gauge):
        exit_pressure = gauge
    knudsen = 2 * free_path / ((room + exit_pressure) * clearance)
    friction = 12 * viscosity * LENGTH * flux / (clearance * clearance * (1 + 6 * knudsen))
    acceleration = 1.2 * flux * flux * maths.log(room / exit_pressure)
    driving = (room - exit_pressure) * (room + exit_pressure) / thermal
    used = friction + acceleration
    slope = (friction * (-3 + 6 * knudsen / (1 + 6 * knudsen)) + acceleration * -2) / used
    step = -2 * (used - driving) / (used + driving) / slope
    return clearance * (1 + step + 0.5 * step * step)


def clearance_of(flow, vacuum, room, temperature):
    drive = math.pi * BORE * vacuum * (2 * room - vacuum)
    viscosity = 1.458e-6 * temperature * math.sqrt(temperature) / (temperature + 110.4)
    clearance = (24 * viscosity * 287.05 * temperature * LENGTH * flow / drive) ** (1 / 3)
    for _ in range(4):
        clearance = newton(Plain, clearance, flow, vacuum, room, temperature)
    return clearance


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
    division, span = 0.5 * INHG, 30 * INHG
    scatter, rounding = division / 4, division / 8 / R3
    offset = number(0.0, 0.02 * span / math.sqrt(2) / R3)
    gain = number(0.0, 0.03 / math.sqrt(2) / R3)

    def shown(vacuum, noise):
        return vacuum + offset + gain * vacuum + noise + number(0.0, rounding)

    noise = number(0.0, scatter)
    room = number(101325.0, 100.0)
    plugged, through = (shown(point * INHG, number(0.0, scatter)) for point in (25, 5))
    vacuum = shown(reading * INHG, noise)
    bore = number(0.000889, 0.0000127 / R3)
    coefficient = number(0.82, 0.03 / R3)
    change = number(1.0, 0.03 / R3)
    temperature = number(293.15, 2.0 / R3)

    below, above = opening(maths, plugged, room), opening(maths, through, room)
    area = (opening(maths, vacuum, room) - below) / (above - below)
    leak = area * change
    hole = bore * maths.sqrt(leak)
    standard = standard_reading(maths, area * (bore / 0.000889) ** 2)
    effective = coefficient * math.pi / 4 * bore * bore
    flow = air_flow(maths, area, effective, vacuum, room, temperature)
    plain = value(flow), value(vacuum), value(room), value(temperature)
    clearance = newton(maths, clearance_of(*plain), flow, vacuum, room, temperature)
    annulus = annulus_loss(clearance, viscosity)
    through_hole = coefficient * math.pi / 4 * hole * hole * math.sqrt(2 * PRESSURE / density)

    low, high = value(below), value(above)
    plain_effective = value(effective)

    def area_at(end):
        return (opening(Plain, end, 101325.0) - low) / (high - low)

    def clearance_at(end):
        end_flow = air_flow(Plain, area_at(end), plain_effective, end, 101325.0, 293.15)
        return clearance_of(end_flow, end, 101325.0, 293.15)

    def ends(figure):
        width = 1.96 * library.deviation(figure) / abs(library.slope(figure, noise))
        return max(reading * INHG - width, 1.0), min(reading * INHG + width, 24.999 * INHG)

    intervals = [
        [area_at(end) for end in ends(leak)],
        [0.000889 * math.sqrt(area_at(end)) for end in ends(hole)],
        [standard_reading(Plain, area_at(end)) for end in ends(standard)],
        [value(flow) - 1.96 * library.deviation(flow), value(flow) + 1.96 * library.deviation(flow)],
        [clearance_at(end) for end in ends(clearance)],
        [area_at(end) * value(through_hole) / value(area) for end in ends(through_hole)],
    ]
    intervals.append([annulus_loss(end, viscosity) for end in intervals[4]])
    values = [value(figure) for figure in (leak, hole, standard, flow, clearance, annulus, through_hole)]
    return values, intervals, library.budget(standard)


def main():
    readings = [float(text) for text in sys.argv[1:]]
    viscosity, density = oil()
    for name, library in (("uncertainties", Uncertainties), ("GTC", Gtc)):
        best = math.inf
        for _ in range(60):
            start = time.perf_counter()
            for reading in readings:
                assess(library, reading, viscosity, density)
            best = min(best, (time.perf_counter() - start) / len(readings))
        print(name, f"{best * 1e6:.1f}")


if __name__ == "__main__":
    main()

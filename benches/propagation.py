"""Times the propagation of one reading in Python: leak, hole, standard reading and air flow with their uncertainties.

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


def figures(number, maths, reading):
    """The relations of one reading; `number(value, uncertainty)` makes a number of the library."""
    division, span = 0.5 * INHG, 30 * INHG
    scatter, rounding = division / 4, division / 8 / R3
    offset = number(0.0, 0.02 * span / math.sqrt(2) / R3)
    gain = number(0.0, 0.03 / math.sqrt(2) / R3)

    def shown(value):
        return value + offset + gain * value + number(0.0, scatter) + number(0.0, rounding)

    barometer = number(101325.0, 100.0)
    plugged, through, vacuum = shown(25 * INHG), shown(5 * INHG), shown(reading * INHG)
    bore = number(0.000889, 0.0000127 / R3)
    coefficient = number(0.82, 0.03 / R3)
    change = number(1.0, 0.03 / R3)
    temperature = number(293.15, 2.0 / R3)

    def opening(value):
        ratio = 1 - value / barometer
        if ratio <= R_STAR:
            return ratio
        y = maths.exp(-K * maths.log(ratio))
        return PHI_STAR / maths.sqrt(7.0 * y * (y - 1))

    below, above = opening(plugged), opening(through)
    area = (opening(vacuum) - below) / (above - below)
    leak = area * change
    hole = bore * maths.sqrt(leak)
    ratio = 1 - vacuum / barometer
    phi = PHI_STAR if ratio <= R_STAR else ratio * PHI_STAR / opening(vacuum)
    flow = area * coefficient * math.pi / 4 * bore * bore * barometer * phi / maths.sqrt(287.05 * temperature)
    # The standard rig, whose own points are exact.
    xb, xo = 1 - 25 * INHG / 101325, 1 - 5 * INHG / 101325
    yo = xo ** -K
    go = PHI_STAR / math.sqrt(7.0 * yo * (yo - 1))
    g = xb + area * (bore / 0.000889) ** 2 * (go - xb)
    if g <= R_STAR:
        standard = 101325 * (1 - g)
    else:
        y = (1 + maths.sqrt(1 + 4 / 7 * (PHI_STAR / g) ** 2)) / 2
        standard = 101325 * (1 - maths.exp(-maths.log(y) / K))
    return leak, hole, flow, standard


def with_uncertainties(reading):
    results = figures(uncertainties.ufloat, uncertainties.umath, reading)
    return [(result.nominal_value, result.std_dev) for result in results]


def with_gtc(reading):
    results = figures(GTC.ureal, GTC, reading)
    return [(GTC.value(result), GTC.uncertainty(result)) for result in results]


def main():
    readings = [float(text) for text in sys.argv[1:]]
    for name, method in (("uncertainties", with_uncertainties), ("GTC", with_gtc)):
        best = math.inf
        for _ in range(5):
            start = time.perf_counter()
            for _ in range(10):
                for reading in readings:
                    method(reading)
            best = min(best, (time.perf_counter() - start) / (10 * len(readings)))
        print(name, f"{best * 1e6:.1f}")


main()

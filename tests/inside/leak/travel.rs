//! Standard readings by the kind of leak, against a balance solved here by itself: one leak reads the same everywhere.

use std::f64::consts::PI;

use crate::leak::*;
use crate::quantity::{Length, Pressure};
use crate::rig::{Calibration, Dial, Orifice, OrificeKind};
use crate::tests::support::{celsius, inhg};

const INHG: f64 = 3386.389;
pub(super) const GAS: f64 = 287.05;

/// A shop: station pressure in Pa, air in K, bore of its orifice in m. Its rig is set to its marks.
#[derive(Clone, Copy)]
pub(super) struct Place {
    pub(super) room: f64,
    pub(super) kelvin: f64,
    pub(super) orifice: f64,
}

pub(super) const STANDARD: Place = Place { room: 101_325.0, kelvin: 293.15, orifice: 0.035 * 0.0254 };

/// Mass flow per effective area of an ideal nozzle (Saint-Venant and Wantzel).
fn flux(room: f64, gauge: f64, kelvin: f64) -> f64 {
    let ratio = (gauge / room).max(0.528_281_787_717_174_2);
    let square = 7.0 * (ratio.powf(2.0 / 1.4) - ratio.powf(2.4 / 1.4));
    room / (GAS * kelvin).sqrt() * square.max(0.0).sqrt()
}

impl Place {
    fn scale(self) -> f64 {
        self.room / 101_325.0
    }

    /// Air that the rig draws through its hose at a vacuum in Pa: what the sonic inlet valve takes less what the bleed
    /// gives, the two as the marks and the orifice, of coefficient 0.82, make them.
    fn drawn(self, vacuum: f64) -> f64 {
        let sonic = |vacuum: f64| 0.684_731_456_377_270_5 * (self.room - vacuum) / (GAS * self.kelvin).sqrt();
        let let_in = |vacuum: f64| flux(self.room, self.room - vacuum, self.kelvin);
        let (plugged, through) = (25.0 * INHG * self.scale(), 5.0 * INHG * self.scale());
        let orifice = 0.82 * PI / 4.0 * self.orifice * self.orifice;
        // bleed in(b) = inlet out(b); (bleed + orifice) in(o) = inlet out(o)
        let bleed_over_inlet = sonic(plugged) / let_in(plugged);
        let inlet = orifice * let_in(through) / (sonic(through) - bleed_over_inlet * let_in(through));
        inlet * (sonic(vacuum) - bleed_over_inlet * let_in(vacuum))
    }

    /// The vacuum at which the rig draws what a leak passes.
    pub(super) fn reads(self, passes: impl Fn(f64) -> f64) -> f64 {
        let (mut shallow, mut deep) = (0.0, 25.0 * INHG * self.scale());
        for _ in 0..60 {
            let middle = 0.5 * (shallow + deep);
            if passes(middle) < self.drawn(middle) { shallow = middle } else { deep = middle }
        }
        shallow
    }

    /// Viscosity by Sutherland's formula with the constants of the U.S. Standard Atmosphere 1976.
    pub(super) fn viscosity(self) -> f64 {
        1.458e-6 * self.kelvin.powf(1.5) / (self.kelvin + 110.4)
    }

    /// Flow through a centred land: the momentum of air along the gap, integrated, from the pressure that it
    /// enters with to that at the gauge or to the sonic one. Slip 6 Kn at each place, momentum factor 1.2, inlet
    /// loss of 1.674 heads.
    fn through_land(self, bore: f64, length: f64, clearance: f64, vacuum: f64) -> f64 {
        let (mu, rt) = (self.viscosity(), GAS * self.kelvin);
        let area = PI * (bore - clearance) * clearance;
        let path = mu * (PI * rt / 2.0).sqrt();
        let covered = |flux: f64| {
            let entered =
                0.5 * (self.room + (self.room * self.room - 3.348 * flux * flux * rt).max(0.0).sqrt());
            let exit = (self.room - vacuum).max(flux * (1.2 * rt).sqrt());
            let slope = |p: f64| {
                (p / rt - 1.2 * flux * flux / p)
                    * clearance
                    * clearance
                    * (1.0 + 6.0 * path / (p * clearance))
                    / (12.0 * mu * flux)
            };
            let n = 200;
            let step = (entered - exit) / f64::from(n);
            (0..n)
                .map(|place| {
                    let (from, to) = (exit + step * f64::from(place), exit + step * f64::from(place + 1));
                    step / 6.0 * (slope(from) + 4.0 * slope(0.5 * (from + to)) + slope(to))
                })
                .sum::<f64>()
        };
        // The faster, the shorter the way to the same pressure.
        let (mut slow, mut fast) = (0.0, self.room / (3.5 * rt).sqrt());
        for _ in 0..60 {
            let middle = 0.5 * (slow + fast);
            if covered(middle) > length { slow = middle } else { fast = middle }
        }
        slow * area
    }

    fn bench(self) -> Bench {
        let orifice = Orifice::new(Length::from_si(self.orifice).unwrap(), OrificeKind::Plug).unwrap();
        let (plugged, through) = (inhg(25.0 * self.scale()), inhg(5.0 * self.scale()));
        let room = Pressure::from_si(self.room).unwrap();
        let air = celsius(self.kelvin - 273.15);
        Bench::new(Calibration::new(plugged, through, orifice, room, air).unwrap(), Dial::USUAL)
    }

    fn standard(self, vacuum: f64, context: &Context) -> Estimate {
        let reading = Pressure::from_si(vacuum).unwrap();
        assess(&[reading], &self.bench(), context).unwrap().standard_reading_pa
    }
}

/// Sea level, 2000, 5280 and 7500 ft by the U.S. Standard Atmosphere 1976 (tables, to 1 Pa), each with three orifices
/// and three temperatures.
fn places() -> impl Iterator<Item = Place> {
    [101_325.0, 94_213.0, 83_437.0, 76_712.0].into_iter().flat_map(|room| {
        [0.030, 0.035, 0.040].into_iter().flat_map(move |inches| {
            [278.15, 293.15, 308.15].into_iter().map(move |kelvin| Place {
                room,
                kelvin,
                orifice: inches * 0.0254,
            })
        })
    })
}

/// Bores, lengths and clearances of lands in m, the first of them the one that passes a limit of 15
/// inHg by moving house.
const LANDS: [(f64, f64, f64); 5] = [
    (0.5 * 0.0254, 0.25 * 0.0254, 33.02e-6),
    (0.5 * 0.0254, 0.25 * 0.0254, 12.7e-6),
    (0.75 * 0.0254, 0.5 * 0.0254, 50.8e-6),
    (0.3 * 0.0254, 0.1 * 0.0254, 25.4e-6),
    (1.0 * 0.0254, 0.3 * 0.0254, 20e-6),
];

fn land(size: (f64, f64, f64)) -> Land {
    Land::new(Length::from_si(size.0).unwrap(), Length::from_si(size.1).unwrap(), None).unwrap()
}

#[test]
fn one_land_stands_at_one_standard_reading_in_every_shop() {
    for size in LANDS {
        let (bore, length, clearance) = size;
        let passes = |place: Place| place.reads(|v| place.through_land(bore, length, clearance, v));
        let truth = passes(STANDARD) / INHG;
        let context = Context { land: Some(land(size)), ..Context::default() };
        for place in places() {
            let found = place.standard(passes(place), &context);
            let off = found.value / INHG - truth;
            assert!(
                off.abs() < 0.02,
                "{off} of {truth} inHg at {} Pa, {} K, {}",
                place.room,
                place.kelvin,
                place.orifice
            );
            assert!(found.low / INHG < truth && truth < found.high / INHG);
        }
    }
}

#[test]
fn a_gap_of_no_known_shape_stands_within_a_twentieth_of_an_inch_where_its_flow_is_slow() {
    // A land whose size is not given: the plain viscous law has to do, 27 um in a land half an inch long.
    let (bore, length, clearance) = (0.5 * 0.0254, 0.5 * 0.0254, 27e-6);
    let passes = |place: Place| place.reads(|v| place.through_land(bore, length, clearance, v));
    let truth = passes(STANDARD) / INHG;
    let gap = Context { kind: Some(LeakKind::Gap), ..Context::default() };
    for place in places() {
        let off = place.standard(passes(place), &gap).value / INHG - truth;
        assert!(off.abs() < 0.05, "{off} of {truth} inHg at {} Pa, {} K", place.room, place.kelvin);
    }
}

#[test]
fn one_hole_stands_at_one_standard_reading_in_every_shop() {
    let hole = Context { kind: Some(LeakKind::Hole), ..Context::default() };
    for inches in [0.005, 0.013, 0.02, 0.03, 0.045] {
        let bore = inches * 0.0254;
        let passes = |place: Place| {
            let area = 0.82 * PI / 4.0 * bore * bore;
            place.reads(|v| area * flux(place.room, place.room - v, place.kelvin))
        };
        let truth = passes(STANDARD) / INHG;
        for place in places() {
            let found = place.standard(passes(place), &hole);
            assert!((found.value / INHG - truth).abs() < 0.001, "{} of {truth} inHg", found.value / INHG);
        }
    }
}

#[test]
fn where_nobody_knows_the_interval_holds_a_gap_and_a_hole_and_the_value_is_their_middle() {
    let kinds = [None, Some(LeakKind::Gap), Some(LeakKind::Hole)];
    let as_kind = |place: Place, v: f64, kind| place.standard(v, &Context { kind, ..Context::default() });
    for place in places() {
        for share in [0.2, 0.5, 0.8, 0.95] {
            let vacuum = share * 25.0 * INHG * place.scale();
            let [unknown, gap, hole] = kinds.map(|kind| as_kind(place, vacuum, kind));
            assert_eq!(unknown.low, gap.low.min(hole.low));
            assert_eq!(unknown.high, gap.high.max(hole.high));
            assert!((unknown.value - 0.5 * (gap.value + hole.value)).abs() < 1e-6);
        }
    }
    // The reading of one land at 5280 ft, 1.3 inHg deeper as a hole than it is.
    let denver = Place { room: 83_437.0, ..STANDARD };
    let vacuum = denver.reads(|v| denver.through_land(LANDS[0].0, LANDS[0].1, LANDS[0].2, v));
    let hole = as_kind(denver, vacuum, Some(LeakKind::Hole)).value / INHG;
    let gap = as_kind(denver, vacuum, Some(LeakKind::Gap)).value / INHG;
    assert!(hole - gap > 1.0, "{hole} and {gap}");
}

#[test]
fn on_the_standard_rig_a_reading_is_its_standard_reading_whatever_the_leak_is() {
    let lands = [None, Some(land(LANDS[0]))];
    for reading in [1.0, 5.0, 12.0, 18.0, 24.0, 24.99, 25.0] {
        for kind in [None, Some(LeakKind::Gap), Some(LeakKind::Hole)] {
            for land in lands {
                let context = Context { kind, land, ..Context::default() };
                let found = STANDARD.standard(reading * INHG, &context).value / INHG;
                assert!((found - reading).abs() < 1e-5, "{found} for {reading}");
            }
        }
    }
}

#[test]
fn limits_travel_to_a_dial_as_readings_travel_from_it() {
    for place in places() {
        let bench = place.bench();
        for (kind, land) in
            [(Some(LeakKind::Gap), None), (Some(LeakKind::Hole), None), (None, Some(land(LANDS[0])))]
        {
            let context = Context { kind, land, ..Context::default() };
            for standard in [6.0, 15.0, 20.0, 24.0] {
                let here = Travel::of(&context).of_standard(inhg(standard), &bench.calibration).unwrap();
                let back = assess(&[here], &bench, &context).unwrap().standard_reading_pa.value;
                assert!((back / INHG - standard).abs() < 1e-5, "{} for {standard}", back / INHG);
            }
        }
    }
}

#[test]
fn each_error_moves_a_gaps_standard_reading_as_the_budget_says() {
    let place = Place { room: 83_437.0, kelvin: 298.15, orifice: 0.032 * 0.0254 };
    let lands = [None, Some(land(LANDS[0])), Some(land(LANDS[2]))];
    for land in lands {
        let context = Context { kind: Some(LeakKind::Gap), land, ..Context::default() };
        for share in [0.3, 0.6, 0.9] {
            let vacuum = share * 25.0 * INHG * place.scale();
            let at = |reading: f64, plugged: f64, through: f64, room: f64, kelvin: f64| {
                let rig = place.bench().calibration;
                let by = |pressure: Pressure, more: f64| Pressure::from_si(pressure.si() + more).unwrap();
                let air = celsius(rig.temperature().si() - 273.15 + kelvin);
                let (plugged, through) = (by(rig.plugged(), plugged), by(rig.through(), through));
                let moved = Calibration::new(plugged, through, rig.orifice(), by(rig.barometer(), room), air);
                let bench = Bench::new(moved.unwrap(), Dial::USUAL);
                let reading = Pressure::from_si(vacuum + reading).unwrap();
                assess(&[reading], &bench, &context).unwrap()
            };
            let slope = |shift: [f64; 5]| {
                let [a, b, c, d, e] = shift;
                let size = shift.iter().map(|one| one.abs()).fold(0.0, f64::max);
                let up = at(a, b, c, d, e).standard_reading_pa.value;
                (up - at(-a, -b, -c, -d, -e).standard_reading_pa.value) / (2.0 * size)
            };
            let budget = at(0.0, 0.0, 0.0, 0.0, 0.0).budget;
            let bench = place.bench();
            let close = |found: f64, expected: f64| {
                let allowed = 0.05 * expected.abs() + 0.5;
                assert!(
                    (found - expected.abs()).abs() < allowed,
                    "{found} for {expected}, {land:?} at {share}"
                );
            };
            close(budget.repeatability, slope([5.0, 0.0, 0.0, 0.0, 0.0]) * bench.repeatability.si());
            close(budget.barometer, slope([0.0, 0.0, 0.0, 20.0, 0.0]) * bench.barometer_uncertainty.si());
            close(budget.temperature, slope([0.0, 0.0, 0.0, 0.0, 0.5]) * bench.temperature_uncertainty);
            let [plugged, through] = [slope([0.0, 5.0, 0.0, 0.0, 0.0]), slope([0.0, 0.0, 5.0, 0.0, 0.0])];
            let single =
                (bench.repeatability.si().powi(2) + bench.dial.resolution().si().powi(2) / 3.0).sqrt();
            close(budget.calibration, (plugged * plugged + through * through).sqrt() * single);
        }
    }
}

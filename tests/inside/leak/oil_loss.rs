//! What a leak of air means in oil: how it goes with the oil and with the metals, against figures worked out by hand.

use crate::leak::*;
use crate::oil::{Oil, annulus_flow};
use crate::quantity::{Length, Pressure, Viscosity};
use crate::rig::{Calibration, Dial};
use crate::tests::support::{Table, celsius, close, inhg, near};

const BORE: f64 = 12.7e-3;

/// A centred valve of half an inch.
fn land() -> Land {
    Land::new(Length::constant(BORE), Length::constant(7.6e-3), 0.0).expect("a land")
}

fn oil(at_40: f64, at_100: f64) -> Oil {
    let [at_40, at_100] = [at_40, at_100].map(|centistokes| Viscosity::constant(centistokes * 1e-6));
    Oil::of_viscosities(at_40, at_100).expect("an oil")
}

/// Clearance and loss of oil at 10 bar.
fn read(reading: f64, land: Land, oil: Oil, oil_celsius: f64) -> (f64, f64) {
    let state = OilState::new(oil, Pressure::constant(1e6), celsius(oil_celsius), None).expect("oil at work");
    let context = Context { kind: None, land: Some(land), oil: Some(state) };
    let bench = Bench::new(Calibration::standard(), Dial::USUAL);
    let assessed = assess(&[inhg(reading)], &bench, &context).expect("a reading");
    let value = |meaning: Option<Interpretation>| meaning.unwrap().estimate().unwrap().value;
    (value(assessed.clearance_m), value(assessed.gap_oil_m3_s))
}

/// How much wider the gap is for oil at 100 °C than for air at 20 °C, in m: by what the loss says.
fn growth(reading: f64, valve_per_k: f64, bore_per_k: f64) -> f64 {
    let grown = land().growing_by(Expansions { valve_per_k, bore_per_k }).expect("metals");
    let (clearance, as_it_is) = read(reading, land(), Oil::typical().unwrap(), 100.0);
    let (_, hot) = read(reading, grown, Oil::typical().unwrap(), 100.0);
    // The flow goes with the cube of the clearance (05_annulus_oil_leak.csv); the mean diameter hardly moves.
    clearance * ((hot / as_it_is).cbrt() - 1.0)
}

#[test]
fn a_warm_bore_of_aluminium_gives_a_steel_valve_room_and_takes_it_from_one_of_more_expansion() {
    // 14_thermal_expansion.csv: 21.8 for A380, 11.7 for steel 1020, 23.6 for 6061. A bore of 12.7 mm, 80 K: 6.35 mm
    // times 80 times the difference.
    for reading in [16.0, 20.0, 23.0] {
        near(growth(reading, 11.7e-6, 21.8e-6) * 1e6, 5.13, 0.03);
        near(growth(reading, 23.6e-6, 21.8e-6) * 1e6, -0.91, 0.02);
    }
    // A tight bore loses more by it: (10 + 5.13)^3/10^3 = 3.46 times as much at 10 um, (27 +
    // 5.13)^3/27^3 = 1.69 times at 27.
    let loss = |clearance: f64| annulus_flow(BORE, clearance, 7.6e-3, 1e6, 0.007).unwrap().si();
    near(loss(15.13e-6) / loss(10e-6), 3.46, 0.01);
    near(loss(32.13e-6) / loss(27e-6), 1.69, 0.01);
}

#[test]
fn steel_and_aluminium_grow_as_the_tables_say() {
    let table = Table::read("14_thermal_expansion.csv");
    for (name, row) in [("steel", "steel 1040"), ("aluminium", "die-cast A380.0")] {
        let metal = METALS.iter().find(|metal| metal.name == name).expect("a metal");
        let row = table.rows().find(|known| known.text("material").starts_with(row)).expect("a row");
        close(metal.expansion_per_k * 1e6, row.number("alpha"), 1e-9);
    }
}

#[test]
fn thinner_oils_lose_more_by_as_much_as_they_are_thinner() {
    // By Walther's line (06_oil_viscosity_walther.csv) at 93 C: 8.458 for 34 and 7.4 cSt; 6.890 for 30 and 6.0; 5.079
    // for 18 and 4.5, whose two levels are those of low and of ultra-low viscosity fluids (from memory).
    let (_, typical) = read(20.0, land(), Oil::typical().unwrap(), 93.0);
    let times = |at_40, at_100| read(20.0, land(), oil(at_40, at_100), 93.0).1 / typical;
    near(times(34.0, 7.4), 1.0, 1e-9);
    near(times(30.0, 6.0), 1.228, 0.002);
    near(times(18.0, 4.5), 1.665, 0.002);
}

#[test]
fn two_lands_in_a_row_have_a_quarter_more_clearance_than_one_for_the_same_air_and_three_44_percent() {
    // Friction goes with the length over the cube of the clearance: the cube root of 2 and of 3 where air is slow.
    let of = |lands| read(24.0, land().in_row(lands).unwrap(), Oil::typical().unwrap(), 93.0);
    let [one, two, three] = [1, 2, 3].map(of);
    near(two.0 / one.0, 1.26, 0.02);
    near(three.0 / one.0, 1.44, 0.02);
}

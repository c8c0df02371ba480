//! The laws of the simulation against tables from outside, and against those of the assessment, with
//! which they share no code.

use crate::air::{Clearance, flow_function, plate_coefficient};
use crate::quantity::{INCH_OF_MERCURY, Length, Pressure, Temperature};
use crate::rig::Calibration;
use crate::rig::simulated::{AirWay, Chance, CircuitLeak, Gap, LeakShape, share_showing, shown_for};
use crate::tests::support::*;

const ROOM: f64 = 101_325.0;
const WARM: f64 = 293.15;
const R: f64 = 287.05;

#[test]
fn a_nozzle_passes_what_the_isentropic_tables_say() {
    // psi = m sqrt(R T)/(A p): computed in closed form and through A/A* of the Mach tables (NACA Report 1135).
    for (ratio, psi) in [
        (0.2, 0.684_731_456_4),
        (0.8, 0.560_661_019_2),
        (0.9, 0.422_580_863_8),
        (0.95, 0.307_641_100_4),
        (0.99, 0.140_661_702_6),
    ] {
        let flow = AirWay::Nozzle { area: 1.0 }.flow(ROOM, ratio * ROOM, WARM) * (R * WARM).sqrt() / ROOM;
        assert!((flow - psi).abs() < 1e-9, "{flow} at {ratio}");
        assert!((flow - flow_function(ratio).expect("a ratio")).abs() < 1e-9);
    }
}

#[test]
fn a_needle_valve_follows_iso_6358() {
    // m over its sonic flow at r = 0.8329 (5 inHg): 0.580 for b = 0.1, 0.648 for b = 0.3, 0.746 for b = 0.5
    // (computed from ISO 6358-1).
    for (critical_ratio, share) in [(0.1, 0.580), (0.3, 0.648), (0.5, 0.746)] {
        let needle = AirWay::Needle { area: 1e-6, critical_ratio };
        let passes = |ratio: f64| needle.flow(ROOM, ratio * ROOM, WARM);
        assert!((passes(0.8329) / passes(0.05) - share).abs() < 1e-3, "b = {critical_ratio}");
        close(passes(critical_ratio), passes(0.0), 1e-12);
    }
}

#[test]
fn a_plate_opens_up_with_the_depth_as_perry_measured() {
    for tenth in 0..=10 {
        let ratio = f64::from(tenth) / 10.0;
        let nozzle = AirWay::Nozzle { area: 1.0 }.flow(ROOM, ratio * ROOM, WARM);
        let plate = AirWay::Plate { area: 1.0 }.flow(ROOM, ratio * ROOM, WARM);
        // Perry's figures are good to 0.01.
        assert!((plate - plate_coefficient(ratio) * nozzle).abs() <= 0.01 * nozzle, "{ratio}");
    }
}

#[test]
fn a_gap_passes_what_the_equations_of_motion_say() {
    // tests/reference/05d: the same equations solved by SciPy, with friction, acceleration, the loss at the inlet and
    // sonic ends; a perimeter of pi D there, of pi (D - c) here.
    let (bore, length) = (0.0127, 0.00635);
    for row in Table::read("05d_annulus_air_inertia_model.csv").rows() {
        let clearance = row.number("c_um") * 1e-6;
        let gap = Gap { bore, length, clearance, eccentricity: 0.0, slip: 0.0 };
        let room = 29.92 * INCH_OF_MERCURY;
        let gauge = room - row.number("vacuum_inHg") * INCH_OF_MERCURY;
        let flow = gap.flow(room, gauge, WARM) * bore / (bore - clearance) * 1e6;
        close(flow, row.number("m_with_acceleration_and_entrance_mg_s"), 1e-3);
    }
}

#[test]
fn narrow_gaps_pass_what_the_assessment_says_within_two_percent() {
    // Long lands and small clearances, where the inlet hardly matters; the viscosity is 0.4 % another.
    let air = (Pressure::constant(ROOM), Temperature::constant(WARM));
    for (clearance, eccentricity) in [(8e-6, 0.0), (13e-6, 0.4), (20e-6, 1.0)] {
        let gap = Gap { bore: 0.0127, length: 0.012, clearance, eccentricity, slip: 6.0 };
        let [bore, length] = [0.0127, 0.012].map(Length::constant);
        let assessed = Clearance::new(bore, length, eccentricity, air.0, air.1);
        for gauge in [20e3, 50e3, 80e3] {
            close(gap.flow(ROOM, gauge, WARM), assessed.flow(clearance, gauge).expect("a flow"), 0.02);
        }
    }
}

#[test]
fn what_two_ways_in_a_row_pass_is_the_same_in_both() {
    let [wide, narrow] = [4e-7, 1e-7].map(|area| AirWay::Nozzle { area });
    // The narrow one is sonic behind the wide one, whose pressure falls a little.
    let both = wide.flow_before(&narrow, ROOM, 20e3, WARM);
    assert!(both < narrow.flow(ROOM, 20e3, WARM) && both > 0.9 * narrow.flow(ROOM, 20e3, WARM));
    close(wide.flow_before(&wide, ROOM, ROOM - 10.0, WARM), wide.flow(ROOM, ROOM - 5.0, WARM), 1e-3);
}

#[test]
fn the_standard_rig_is_the_one_that_the_assessment_means() {
    let standard = Calibration::standard();
    for tenths in (10..250).step_by(7) {
        let reading = inhg(f64::from(tenths) / 10.0);
        let share = standard.leak_at(reading).expect("a leak");
        assert!((share_showing(reading) - share).abs() < 1e-6, "{share} at {reading}");
        assert!((in_hg(shown_for(share)) - in_hg(reading)).abs() < 1e-5);
    }
}

#[test]
fn a_leak_made_to_show_a_standard_reading_shows_it() {
    let chance = &mut Chance::new(5);
    for tenths in (40..245).step_by(15) {
        let wanted = inhg(f64::from(tenths) / 10.0);
        for shape in [LeakShape::gap(0.0127, 0.0076, chance), LeakShape::hole(chance)] {
            let shown = CircuitLeak::showing(wanted, shape).standard_reading();
            assert!((in_hg(shown) - in_hg(wanted)).abs() < 1e-6, "{shown} for {wanted} by {shape:?}");
        }
    }
}

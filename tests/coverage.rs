//! Coverage of the 95 % intervals, by Monte Carlo as in JCGM 101:2008: every input is drawn from its distribution and
//! carried through the full, curved relations; the intervals must hold 94 to 96 % of what comes out.

mod common;

use common::{Draws, celsius, inhg};
use spoolproof::leak::{Assessment, Bench, Context, Estimate, assess};
use spoolproof::quantity::{Length, Pressure};
use spoolproof::rig::{Calibration, Dial, Grade, Orifice};

const N: usize = 20000;

fn draw(bench: &Bench, reading: f64, draws: &mut Draws) -> Option<[f64; 4]> {
    let calibration = bench.calibration();
    let dial = bench.dial();
    let offset = draws.within(dial.offset_limit());
    let gain = draws.within(dial.gain_limit());
    let rep = bench.repeatability().si();
    let res = dial.resolution().si();
    let mut truth = |r: f64| r + offset + gain * r + draws.normal(rep) + draws.within(res);
    let vb = truth(calibration.plugged().si());
    let vo = truth(calibration.through().si());
    let v = truth(reading);
    let p = calibration.barometer().si() + draws.normal(bench.barometer_uncertainty().si());
    let o = calibration.orifice();
    let bore = o.diameter().si() + draws.within(o.tolerance().si());
    let cal = Calibration::new(
        Pressure::from_si(vb)?,
        Pressure::from_si(vo)?,
        Orifice::new(Length::constant(bore), o.kind()).ok()?,
        Pressure::from_si(p)?,
        calibration.temperature(),
    )
    .ok()?;
    let v = Pressure::from_si(v)?;
    let lg = cal.leak_at(v).ok()?;
    let share = ((calibration.ratio(calibration.through()) - cal.ratio(v))
        / (calibration.ratio(calibration.through()) - 0.52828))
        .abs()
        .min(1.0);
    let l = lg * (1.0 + share * draws.within(0.03));
    let hole = cal.hole(l);
    let std = cal.standard_reading(v).ok()?.si();
    let phi = spoolproof::air::flow_function(cal.ratio(v))?;
    let t = 293.15 + draws.within(2.0);
    let m = lg * (o.kind().coefficient(0.83) + draws.within(0.03)) * std::f64::consts::PI / 4.0
        * bore
        * bore
        * p
        * phi
        / (287.05 * t).sqrt();
    (l.is_finite()).then_some([l, hole, std, m])
}

#[test]
fn cover() {
    let dials = [
        ("B 1", Dial::new(Grade::AsmeB, inhg(30.0), inhg(1.0)).unwrap()),
        ("B .5", Dial::new(Grade::AsmeB, inhg(30.0), inhg(0.5)).unwrap()),
        ("C 1", Dial::new(Grade::AsmeC, inhg(30.0), inhg(1.0)).unwrap()),
        ("D 1", Dial::new(Grade::AsmeD, inhg(30.0), inhg(1.0)).unwrap()),
        ("A .2", Dial::new(Grade::AsmeA, inhg(30.0), inhg(0.2)).unwrap()),
        ("1A .2", Dial::new(Grade::Asme1A, inhg(30.0), inhg(0.2)).unwrap()),
        ("3A .1", Dial::new(Grade::Asme3A, inhg(30.0), inhg(0.1)).unwrap()),
    ];
    for (name, dial) in dials {
        let cal = Calibration::new(
            inhg(25.0),
            inhg(5.0),
            Orifice::STANDARD,
            Pressure::constant(101325.0),
            celsius(20.0),
        )
        .unwrap();
        let bench = Bench::new(cal, dial);
        for reading in
            [24.8, 24.5, 24.0, 23.0, 21.0, 18.0, 15.0, 12.0, 9.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.5, 1.0]
        {
            let a: Assessment = assess(&[inhg(reading)], &bench, &Context::default()).unwrap();
            let est: [Estimate; 4] = [a.relative_leak, a.hole_m, a.standard_reading_pa, a.air_mass_flow_kg_s];
            let mut hits = [0usize; 4];
            let mut n = 0;
            let mut draws = Draws(7);
            for _ in 0..N {
                let Some(x) = draw(&bench, inhg(reading).si(), &mut draws) else { continue };
                n += 1;
                for k in 0..4 {
                    if x[k] >= est[k].low && x[k] <= est[k].high {
                        hits[k] += 1;
                    }
                }
            }
            let c: Vec<String> =
                hits.iter().map(|h| format!("{:.2}", 100.0 * *h as f64 / n as f64)).collect();
            println!(
                "{name:6} {reading:5} n={n} {}  L {:.4} {:.4} {:.4}  v +-{:.3}",
                c.join(" "),
                a.relative_leak.low,
                a.relative_leak.value,
                a.relative_leak.high,
                (a.standard_reading_pa.high - a.standard_reading_pa.low) / 2.0 / 3386.389
            );
        }
    }
}

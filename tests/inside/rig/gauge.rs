//! Gauges that read themselves, over a pseudo-terminal, a pipe and a file.

use std::fs::File;
use std::io::{Write, pipe};
use std::ops::ControlFlow;
use std::path::PathBuf;
use std::thread;
use std::time::Duration;

use crate::quantity::{INCH_OF_MERCURY, Pressure};
use crate::rig::gauge::*;
use crate::rig::simulated::{Load, Settings, SimulatedRig};
use crate::tests::support::{in_hg, inhg, near};

fn format() -> LineFormat {
    LineFormat::new("P1 = {} inHg", "inHg").expect("a format")
}

/// Half a second within a quarter inch: a bench in a hurry.
const BRISK: Settling = Settling { for_s: 0.3, band_pa: Pressure::constant(0.25 * INCH_OF_MERCURY) };

/// Writes lines at fifty a second until they end or nobody reads them.
fn send(mut to: impl Write + Send + 'static, lines: impl IntoIterator<Item = String> + Send + 'static) {
    thread::spawn(move || {
        for line in lines {
            if to.write_all(line.as_bytes()).and_then(|()| to.flush()).is_err() {
                return;
            }
            thread::sleep(Duration::from_millis(20));
        }
    });
}

fn settle(gauge: &mut impl Gauge) -> Result<Settled, GaugeError> {
    watch(gauge, &BRISK, 20.0, |_| ControlFlow::Continue(()))
        .map(|settled| settled.expect("nobody broke it off"))
}

#[track_caller]
fn rests_at(gauge: &mut impl Gauge, wanted: f64) {
    near(in_hg(settle(gauge).expect("a needle at rest").vacuum_pa), wanted, 1e-6);
}

/// A gauge at the end of a pipe that gets these lines.
fn piped(lines: impl IntoIterator<Item = String> + Send + 'static) -> StreamGauge {
    let (from, to) = pipe().expect("a pipe");
    send(to, lines);
    StreamGauge::new(from, format())
}

fn says(number: f64) -> String {
    format!("P1 = {number:.2} inHg\r\n")
}

#[test]
fn a_line_is_read_by_its_pattern() {
    let vacuum = |format: &LineFormat, line: &str| match format.read(line) {
        GaugeLine::Vacuum(vacuum) => Some((vacuum.si() * 1e3).round() / 1e3),
        GaugeLine::OtherUnit(_) | GaugeLine::Noise => None,
    };
    let inches = format();
    assert_eq!(vacuum(&inches, "P1 = 18.5 inHg"), Some((18.5 * INCH_OF_MERCURY * 1e3).round() / 1e3));
    let [wide, narrow] = ["P1  =   18.5   inHg", "P1 =18.5inHg"].map(|line| vacuum(&inches, line));
    assert_eq!(wide, narrow, "blanks do not matter");
    assert_eq!(vacuum(&inches, "P2 = 18.5 inHg"), None);
    assert_eq!(vacuum(&inches, "8.5 inHg"), None, "half a line");
    assert_eq!(vacuum(&inches, "P1 = 18.5 in"), None, "half a line");
    assert_eq!(vacuum(&inches, "P1 = 18 1/2 inHg"), None, "gauges print decimals");
    let negative = LineFormat::new("{}", "kPa").expect("a format").with_negative_vacuum();
    assert_eq!(vacuum(&negative, "-62.6"), Some(62_600.0));
    assert!(matches!(inches.read("P1 = 62.6 kPa"), GaugeLine::OtherUnit(unit) if unit.symbol == "kPa"));
    assert!(matches!(inches.read("P1 = 62.6 kPx"), GaugeLine::Noise));
}

#[test]
fn a_bad_format_says_what_to_write() {
    let error = |pattern, unit| LineFormat::new(pattern, unit).expect_err("not a format").to_string();
    assert!(error("P = inHg", "inHg").contains("P = {} inHg"));
    assert!(error("{} {}", "inHg").contains("once"));
    assert!(error("{}", "furlong").contains("give inHg"));
    assert!(error("{}", "mm").contains("not a unit of pressure"));
    assert!(error("{} kPa", "inHg").contains("ends in kPa"));
}

#[test]
fn a_needle_at_rest_is_offered_with_its_samples() {
    let trembling = (0..).map(|n| says(18.5 + 0.02 * f64::from(n % 3)));
    let settled = settle(&mut piped(trembling)).expect("a needle at rest");
    assert!((in_hg(settled.vacuum_pa) - 18.52).abs() < 0.021);
    assert!(settled.samples.len() >= 5);
    assert!(settled.samples.iter().all(|sample| sample.line.starts_with("P1 = 18.5")));
    assert!(settled.samples.windows(2).all(|two| two[0].at_s <= two[1].at_s));
}

#[test]
fn a_moving_needle_is_waited_for() {
    // 18.5 with an exponential approach from 29: settled within 0.25 inHg only near its end.
    let approach = (0..).map(|n| says(18.5 + 10.5 * (-f64::from(n) * 0.02 / 0.4).exp()));
    let mut seen = Vec::new();
    let settled = watch(&mut piped(approach), &BRISK, 20.0, |sample: Option<&Sample>| {
        seen.extend(sample.cloned());
        ControlFlow::Continue(())
    });
    let settled = settled.expect("it comes to rest").expect("nobody broke it off");
    near(in_hg(settled.vacuum_pa), 18.5, 0.15);
    assert!(in_hg(seen[0].vacuum_pa) > 20.0, "the way there was shown");
}

#[test]
fn a_glitch_does_not_unsettle_a_needle_and_noise_is_passed_over() {
    let lines = (0..).map(|n| match n % 7 {
        2 => "P1 = 1.85 inHg\r\n".to_owned(),
        5 => "\u{1}\u{2}@@@ 77\r\n".to_owned(),
        _ => says(18.5),
    });
    rests_at(&mut piped(lines), 18.5);
}

#[test]
fn the_rest_of_a_line_at_the_start_is_passed_over() {
    // Without text before the number the tail of a line looks like a whole one.
    let (from, mut to) = pipe().expect("a pipe");
    to.write_all(b"8.50\n18.50\n18.50\n1").expect("an open pipe");
    let mut gauge = StreamGauge::new(from, LineFormat::new("{}", "inHg").expect("a format"));
    let mut next = || {
        gauge.next(Duration::from_millis(200)).expect("an open pipe").map(|sample| in_hg(sample.vacuum_pa))
    };
    assert_eq!([next(), next(), next()].map(|value| value.map(f64::round)), [Some(19.0), Some(19.0), None]);
    to.write_all(b"8.50\n").expect("an open pipe");
    let whole = gauge.next(Duration::from_secs(2)).expect("an open pipe").expect("the rest has come");
    assert!((in_hg(whole.vacuum_pa) - 18.5).abs() < 1e-9, "a line in two pieces is one line");
}

#[test]
fn another_unit_is_named() {
    let error =
        settle(&mut piped((0..).map(|_| "P1 = 62.6 kPa\r\n".to_owned()))).expect_err("the wrong unit");
    assert_eq!(error, GaugeError::WrongUnit { found: "kPa", wanted: "inHg" });
}

#[test]
fn a_babbling_gauge_is_given_up() {
    let error = settle(&mut piped((0..).map(|n| format!("~{n}~ @@\r\n")))).expect_err("babble");
    assert!(matches!(error, GaugeError::Babbling { .. }), "{error}");
    let endless = settle(&mut piped((0..).map(|_| "x".repeat(190)))).expect_err("no ends of lines");
    assert!(matches!(endless, GaugeError::Babbling { .. }), "{endless}");
}

#[test]
fn a_silent_gauge_is_given_up() {
    let (from, _kept_open) = pipe().expect("a pipe");
    let error = settle(&mut StreamGauge::new(from, format())).expect_err("silence");
    assert!(matches!(error, GaugeError::Silent { seconds: 5.. }), "{error}");
}

#[test]
fn a_needle_that_never_rests_is_given_up() {
    let swinging = (0..).map(|n| says(15.0 + 5.0 * (f64::from(n) / 3.0).sin()));
    let error = watch(&mut piped(swinging), &BRISK, 1.0, |_| ControlFlow::Continue(())).expect_err("no rest");
    assert!(matches!(error, GaugeError::Restless { .. }), "{error}");
}

#[test]
fn a_gauge_that_ends_is_lost_and_says_so() {
    let error = settle(&mut piped((0..4).map(|_| says(18.5)))).expect_err("too few lines");
    assert!(matches!(error, GaugeError::Lost { .. }), "{error}");
    assert!(error.to_string().contains("type the reading"));
}

#[test]
fn a_watch_can_be_broken_off() {
    let broken = watch(&mut piped((0..).map(|_| says(18.5))), &BRISK, 20.0, |sample| match sample {
        Some(_) => ControlFlow::Break(()),
        None => ControlFlow::Continue(()),
    });
    assert_eq!(broken, Ok(None));
}

#[test]
fn what_was_sent_before_the_watch_does_not_count() {
    let (from, mut to) = pipe().expect("a pipe");
    // All of this arrives at once, so that soon after the first sample the others wait behind it.
    to.write_all((0..8).map(|_| says(25.0)).collect::<String>().as_bytes()).expect("an open pipe");
    let mut gauge = StreamGauge::new(from, format());
    let stale = gauge.next(Duration::from_secs(5)).expect("an open pipe").expect("a sample");
    assert!((in_hg(stale.vacuum_pa) - 25.0).abs() < 1e-6);
    thread::sleep(Duration::from_millis(500));
    send(to, (0..).map(|_| says(5.0)));
    let mut shown = Vec::new();
    let settled = watch(&mut gauge, &BRISK, 20.0, |sample| {
        shown.extend(sample.map(|sample| in_hg(sample.vacuum_pa)));
        ControlFlow::Continue(())
    });
    let settled = settled.expect("a needle at rest").expect("nobody broke it off");
    near(in_hg(settled.vacuum_pa), 5.0, 1e-6);
    assert!(shown.iter().all(|value| (value - 5.0).abs() < 1e-6), "{shown:?}");
}

#[test]
fn a_plain_file_is_played_and_followed() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("gauge.txt");
    std::fs::write(&path, (0..10).map(|_| says(18.5)).collect::<String>()).expect("a file");
    let stream = GaugeSource::Stream(path.clone()).open().expect("a file");
    let mut gauge = StreamGauge::new(stream, format());
    rests_at(&mut gauge, 18.5);
    thread::sleep(Duration::from_millis(2500));
    let mut file = File::options().append(true).open(&path).expect("the file");
    file.write_all((0..20).map(|_| says(7.0)).collect::<String>().as_bytes()).expect("room");
    rests_at(&mut gauge, 7.0);
}

#[test]
fn what_cannot_be_opened_is_named() {
    let place = PathBuf::from("no/such/gauge");
    for source in [GaugeSource::Stream(place.clone()), GaugeSource::Serial { port: place, baud: 9600 }] {
        let error = source.open().err().expect("nothing there").to_string();
        assert!(error.contains("no/such/gauge") && error.contains("type readings"), "{error}");
    }
}

#[test]
fn a_simulated_needle_settles_at_its_reading() {
    // The samples of a simulated rig, its own time: the needle comes to rest within the trembling of the dial.
    let mut rig = SimulatedRig::calibrated(3, Settings::default(), inhg(25.0), inhg(5.0));
    rig.connect(Load::Leak(0.3));
    let settling = Settling::usual(rig.settings().dial.dial.smallest_division());
    let mut samples = Vec::new();
    let settled = (0..600).find_map(|n| {
        let vacuum_pa = rig.watch(0.1);
        samples.push(Sample { line: String::new(), vacuum_pa, at_s: 0.1 * f64::from(n) });
        settling.judge(&samples[samples.len().saturating_sub(31)..])
    });
    let settled = settled.expect("it comes to rest within a minute");
    near(in_hg(settled.vacuum_pa), in_hg(rig.needle()), 0.15);
}

#[cfg(unix)]
mod pseudo_terminal {
    use nix::pty::{OpenptyResult, openpty};
    use nix::unistd::ttyname;

    use super::*;

    /// A gauge opened as a serial port on one end of a pseudo-terminal, and the other end.
    fn plugged_in() -> (StreamGauge, File) {
        let OpenptyResult { master, slave } = openpty(None, None).expect("a pseudo-terminal");
        let port = ttyname(&slave).expect("its name");
        let stream = GaugeSource::Serial { port, baud: 9600 }.open().expect("a serial port");
        (StreamGauge::new(stream, format()), File::from(master))
    }

    #[test]
    fn a_serial_gauge_is_read_in_whole_lines_and_in_pieces() {
        for lines in [&["P1 = 18.50 inHg\r\n"][..], &["P1 = 1", "8.5", "0 in", "Hg\r\n"]] {
            let (mut gauge, plug) = plugged_in();
            send(plug, lines.iter().cycle().map(|line| line.to_string()));
            rests_at(&mut gauge, 18.5);
        }
    }

    #[test]
    fn an_unplugged_gauge_is_lost() {
        let (mut gauge, mut plug) = plugged_in();
        plug.write_all([says(1.0), says(18.5)].concat().as_bytes()).expect("plugged in");
        assert!(gauge.next(Duration::from_secs(2)).expect("plugged in").is_some());
        drop(plug);
        let error = settle(&mut gauge).expect_err("unplugged");
        assert!(matches!(error, GaugeError::Lost { .. }), "{error}");
    }

    #[test]
    fn a_silent_serial_gauge_is_not_lost() {
        let (mut gauge, _plug) = plugged_in();
        assert_eq!(gauge.next(Duration::from_millis(700)), Ok(None));
    }
}

use std::collections::BTreeMap;

use crate::air::{Barometer, BarometerSource};
use crate::leak::{Bench, Limits, Sure};
use crate::page::{Ask, AskKind, Board, CircuitSight, DialSight, LastSight, Offered, PictureSight, Zone};
use crate::procedure::{PictureHere, Place};
use crate::quantity::{Dimension, INCH_OF_MERCURY, Length, Pressure, UNITS, Unit, shown};
use crate::record::{Circuit, HoseOn, Prices, Question, REPLACE, RigStep, Spot, Wants};
use crate::rig::{Calibration, Dial};
use crate::tell;

/// Puts a circuit into words: where the hose goes and what its limits are.
pub(crate) fn circuit_sight(circuit: &Circuit, place: &Place, vacuum_unit: &Unit) -> CircuitSight {
    let limits = match &circuit.limits {
        Some(limits) => judged_here(limits, &circuit.spot(&Spot::default()), place, vacuum_unit),
        None => "Its limits are to be found: it is read and recorded, and not judged.".to_owned(),
    };
    CircuitSight {
        name: circuit.name.clone(),
        port: circuit.port.clone(),
        limits,
        means: circuit.means.clone(),
        symptoms: circuit.symptoms.clone(),
    }
}

/// Returns the pictures that help with a question, as far as the page has them.
pub(crate) fn picture_sights(page: &Board, question: &Question, place: &Place) -> Vec<PictureSight> {
    let nothing = BTreeMap::new();
    let sight = |here: PictureHere<'_>| {
        let (ground, ports) = (page.ground(here.name)?, here.ports.unwrap_or(&nothing));
        Some(PictureSight::of(here.name, &ground, ports, here.port.as_deref(), false))
    };
    place.pictures(question).into_iter().filter_map(sight).collect()
}

/// Says what is good and what is not where a walk is, and where one look at the gauge is sure of it.
fn judged_here(limits: &Limits, spot: &Spot, place: &Place, vacuum_unit: &Unit) -> String {
    let sure = place.bench.map(|bench| sure_here(limits, spot, place, &bench));
    let calibration = place.bench.as_ref().map(|bench| &bench.calibration);
    judged_by(limits, spot, calibration, sure.as_ref(), vacuum_unit)
}

/// Returns where one look at the gauge is sure of what it comes to.
fn sure_here(limits: &Limits, spot: &Spot, place: &Place, bench: &Bench) -> Sure {
    Sure::of(limits, bench, &spot.context(None), place.confidence)
}

/// Says what is good and what is not as this gauge shows it, which is not what the standard rig shows.
pub(crate) fn judged_by(
    limits: &Limits,
    spot: &Spot,
    calibration: Option<&Calibration>,
    sure: Option<&Sure>,
    vacuum_unit: &Unit,
) -> String {
    let standard = [limits.lower(), limits.upper()];
    let here = calibration.and_then(|calibration| limits_here(limits, spot, calibration));
    let figures = |limits: [Pressure; 2]| limits.map(|limit| shown(vacuum_unit.from_si(limit.si()), 1));
    let Some(here) = here else {
        return format!("{} (standard readings).", tell::limits(limits, vacuum_unit));
    };
    let ([lower, upper], [low, high]) = (figures(here), figures(standard));
    let unit = vacuum_unit.symbol;
    let is_standard = (&lower, &upper) == (&low, &high);
    let (good, right) =
        if is_standard { ("Good", "Right") } else { ("On your gauge good", "On your gauge right") };
    let surely = |at: Option<String>| {
        let at = at.unwrap_or_else(|| "nowhere".to_owned());
        sure.map(|_| format!(" (sure: {at})")).unwrap_or_default()
    };
    let tenth = |inhg: f64| shown(vacuum_unit.from_si(inhg * INCH_OF_MERCURY), 1);
    let said = match limits.is_window() {
        true => {
            let between = sure.and_then(|sure| sure.between);
            let between = between.map(|(from, to)| format!("{} to {}", tenth(from), tenth(to)));
            format!("{right}: {lower} to {upper} {unit}{}", surely(between))
        }
        false => {
            let [above, below] = [sure.and_then(|sure| sure.above), sure.and_then(|sure| sure.below)]
                .map(|at| surely(at.map(tenth)));
            format!("{good}: {upper} {unit} up{above}, leaks: {lower} down{below}")
        }
    };
    let standard = match (is_standard, limits.is_window()) {
        (true, _) => String::new(),
        (false, true) => format!("; standard: {low} to {high}"),
        (false, false) => format!("; standard: {high} and {low}"),
    };
    format!("{said}{standard}.")
}

/// Returns what this rig reads at the lower and the upper limit.
fn limits_here(limits: &Limits, spot: &Spot, calibration: &Calibration) -> Option<[Pressure; 2]> {
    let here = |standard| spot.travel().of_standard(standard, calibration).ok();
    Some([here(limits.lower())?, here(limits.upper())?])
}

/// Puts a question into words, with what there is to know before it is answered.
pub(crate) fn ask(question: &Question, place: &Place, prices: &Prices, enter: Option<EnterTakes>) -> Ask {
    let mut below = Vec::new();
    if let (Wants::Reading { on: HoseOn::Circuit { own, .. }, .. }, Some(unit)) =
        (&question.wants, question.unit())
    {
        let spot = place.spot(question);
        let judged = |limits| judged_here(limits, &spot, place, unit);
        let limits = own.limits.as_ref().map(judged).unwrap_or_default();
        let port = own.port.as_ref().map(|port| format!("Hose on port {port}. ")).unwrap_or_default();
        below.push(format!("{port}{limits}"));
    }
    let choices = match (&question.wants, &place.decided) {
        (Wants::Decision { options, .. }, Some(circuit)) => {
            below.extend(circuit.means.clone());
            if !circuit.symptoms.is_empty() {
                below.push(format!("It can cause: {}.", circuit.symptoms.join(", ")));
            }
            priced(circuit, options, prices)
        }
        (Wants::Choice { options } | Wants::Decision { options, .. }, _) => {
            options.iter().map(|text| Offered { text: text.clone(), cost: None }).collect()
        }
        _ => Vec::new(),
    };
    below.extend(question.within().map(|within| format!("Good: {within}.")));
    let forms = match question.wants {
        Wants::Barometer => BAROMETER_FORMS,
        Wants::AirTemperature => AIR_FORMS,
        _ => "",
    };
    let (label, sentence) = enter.map(|enter| (enter.label, enter.sentence)).unzip();
    below.push([forms, sentence.as_deref().unwrap_or_default()].join(" "));
    let below = below.into_iter().map(|text| text.trim().to_owned()).filter(|text| !text.is_empty());
    let is_done = matches!(question.wants, Wants::Ready | Wants::Wait { .. });
    Ask {
        kind: kind(&question.wants),
        words: question.words.clone(),
        below: below.collect(),
        wanted: wanted_in_short(question),
        help: wanted(question),
        choices,
        units: units(question),
        enter: label.or(is_done.then(|| "done".to_owned())),
        may_stop: question.has_stop(),
        seconds: if let Wants::Wait { seconds } = question.wants { Some(seconds) } else { None },
        refusal: None,
        doubt: None,
    }
}

fn kind(wants: &Wants) -> AskKind {
    match wants {
        Wants::Acknowledgement => AskKind::Caution,
        Wants::Ready => AskKind::Ready,
        Wants::Wait { .. } => AskKind::Wait,
        Wants::Yes => AskKind::YesNo,
        Wants::Choice { .. } | Wants::Decision { .. } => AskKind::Choice,
        Wants::Text => AskKind::Text,
        Wants::Technician => AskKind::Name,
        Wants::Number { .. } => AskKind::Number,
        Wants::Reading { .. } => AskKind::Reading,
        Wants::Barometer => AskKind::Barometer,
        Wants::AirTemperature => AskKind::Temperature,
    }
}

/// Returns the symbols of the units that an answer can be given in, the question's own first.
fn units(question: &Question) -> Vec<String> {
    let of = |dimension| UNITS.iter().filter(move |unit| unit.dimension == dimension).map(|unit| unit.symbol);
    let (own, dimension) = match (&question.wants, question.unit()) {
        (_, Some(unit)) if unit.dimension == Dimension::Count => return Vec::new(),
        (_, Some(unit)) => (Some(unit.symbol), unit.dimension),
        (Wants::Barometer, _) => (None, Dimension::Pressure),
        (Wants::AirTemperature, _) => (None, Dimension::Temperature),
        _ => return Vec::new(),
    };
    let others = of(dimension).filter(|symbol| Some(*symbol) != own);
    own.into_iter().chain(others).map(str::to_owned).collect()
}

/// Returns what the gauge's dial shows while a reading is asked for: what readings come to here, unless nothing is to
/// be said of that, or what a valve is to be turned to.
pub(crate) fn dial_sight(
    question: &Question,
    place: &Place,
    dial: &Dial,
    is_blind: bool,
) -> Option<DialSight> {
    let on = question.hose_on()?;
    let unit = question.unit()?;
    let spot = place.spot(question);
    let judged = spot.limits.as_ref().zip(place.bench.as_ref()).filter(|_| !is_blind);
    let judged = judged.and_then(|(limits, bench)| {
        let here = limits_here(limits, &spot, &bench.calibration)?;
        let zones = zones(limits, &sure_here(limits, &spot, place, bench), bench.calibration.plugged(), unit);
        Some((zones, here.map(|limit| unit.from_si(limit.si())).to_vec()))
    });
    let (zones, limits) = judged.unwrap_or_default();
    let last = place.last.as_ref().filter(|_| matches!(on, HoseOn::Circuit { .. }));
    let last = last.map(|last| LastSight { at: unit.from_si(last.reading.si()), label: last.label.clone() });
    let target = match on {
        HoseOn::Rig(RigStep::Set(setting)) => Some(unit.from_si(setting.set_to_pa.si())),
        _ => None,
    };
    Some(DialSight {
        unit: unit.symbol.to_owned(),
        full_scale: unit.from_si(dial.span().si()),
        division: unit.from_si(dial.smallest_division().si()),
        zones,
        limits,
        target,
        last,
        needle: None,
        is_moving: false,
    })
}

/// Parts the scale up to the plugged point where one look stops to be sure of what it comes to.
fn zones(limits: &Limits, sure: &Sure, plugged: Pressure, unit: &Unit) -> Vec<Zone> {
    let here = |inhg: f64| unit.from_si(inhg * INCH_OF_MERCURY);
    let deepest = unit.from_si(plugged.si());
    let [at_lower, at_middle, at_upper] = limits.verdicts();
    let parts = [
        sure.below.map(|to| (0.0, here(to), at_lower)),
        sure.between.map(|(from, to)| (here(from), here(to), at_middle)),
        sure.above.map(|from| (here(from), deepest, at_upper)),
    ];
    let (mut zones, mut end) = (Vec::new(), 0.0);
    for (from, to, verdict) in parts.into_iter().flatten() {
        zones.push(Zone { from: end, to: from, verdict: None });
        zones.push(Zone { from, to, verdict: Some(verdict.to_string()) });
        end = to;
    }
    zones.push(Zone { from: end, to: deepest, verdict: None });
    zones.retain(|zone| zone.to > zone.from);
    zones
}

const BAROMETER_FORMS: &str =
    "As 29.1 inHg in the room, 5280 ft of elevation, or a weather report's 30.11 inHg at 5577 ft.";

const AIR_FORMS: &str = "As 22 C or 72 F.";

/// What Enter alone takes: in a few words, and in a sentence.
pub(crate) struct EnterTakes {
    pub label: String,
    pub sentence: String,
}

/// Returns what Enter alone takes: what this question and those behind it were answered with earlier the same
/// day, else what is usual.
pub(crate) fn enter_takes(
    question: &Question,
    elevation: Option<Length>,
    earlier: &[&str],
) -> Option<EnterTakes> {
    if let Some(label) = earlier.first() {
        let sentence = format!("Enter takes what was so earlier today: {}.", earlier.join(", "));
        return Some(EnterTakes { label: (*label).to_owned(), sentence });
    }
    match question.wants {
        Wants::Barometer => {
            let (at, about) = (tell::elevation(elevation?), barometer_at(elevation?)?);
            let sentence = format!("Enter takes what is usual at {at}: {about}, give or take the weather.");
            Some(EnterTakes { label: about, sentence })
        }
        Wants::AirTemperature => Some(EnterTakes {
            label: "20 °C".to_owned(),
            sentence: "Enter takes 20 °C, give or take a few degrees.".to_owned(),
        }),
        _ => None,
    }
}

/// Returns what a barometer usually shows at an elevation.
pub(crate) fn barometer_at(elevation: Length) -> Option<String> {
    let there = Barometer::new(BarometerSource::Elevation { elevation }).ok()?;
    let inhg = &UNITS[0];
    Some(inhg.written(shown(inhg.from_si(there.station().si()), 1)))
}

/// Says in a few words what a question wants.
pub(super) fn wanted_in_short(question: &Question) -> String {
    match &question.wants {
        Wants::Acknowledgement => "type ok".to_owned(),
        Wants::Ready => "Enter when done".to_owned(),
        Wants::Yes => "yes or no".to_owned(),
        Wants::Wait { seconds } => format!("Enter after {seconds} s"),
        Wants::Choice { .. } | Wants::Decision { .. } => "which".to_owned(),
        Wants::Text => "words".to_owned(),
        Wants::Technician => "name".to_owned(),
        Wants::Number { unit, .. } if unit.is_empty() => "how many".to_owned(),
        Wants::Reading { unit, .. } if question.has_stop() => format!("{unit} (valve at its end: 21.5 stop)"),
        Wants::Number { unit, .. } | Wants::Reading { unit, .. } => unit.clone(),
        Wants::Barometer => "barometer".to_owned(),
        Wants::AirTemperature => "temperature".to_owned(),
    }
}

/// Says what each way to go on with a circuit costs.
fn priced(circuit: &Circuit, options: &[String], prices: &Prices) -> Vec<Offered> {
    let repairs = prices.repairs_of(circuit);
    let cost = |option: &String| {
        let repair = repairs.iter().find(|repair| repair.does == *option);
        match prices.replacement.filter(|_| option == REPLACE) {
            Some(replacement) => Some(tell::money(replacement, prices.currency.as_deref())),
            None => tell::cost(repair?, prices),
        }
    };
    options.iter().map(|option| Offered { text: option.clone(), cost: cost(option) }).collect()
}

/// Says in full what a question wants.
pub(crate) fn wanted(question: &Question) -> String {
    let wanted = match &question.wants {
        Wants::Acknowledgement => "Type ok when you have read the caution; Enter alone is not enough.",
        Wants::Ready => "Do what it says, then press Enter.",
        Wants::Yes => "Type yes or no, or y or n.",
        Wants::Wait { .. } => "Let the time pass; at a terminal it is counted for you.",
        Wants::Choice { .. } | Wants::Decision { .. } => "Type the number of a choice, or how it begins.",
        Wants::Text => "Type a few words; in double quotes if they begin with one of the words below.",
        Wants::Technician => "Type your name or initials.",
        Wants::Number { unit, .. } if unit.is_empty() => "Type how many there are: a whole number.",
        Wants::Number { unit, .. } => {
            return format!(
                "Type the value. A bare number is in {unit}; any other unit can be written behind it."
            );
        }
        Wants::Reading { on, unit, .. } => {
            let steady = match on {
                HoseOn::Circuit { .. } => {
                    "Wait until the needle stands still, tap the glass, and type what it shows. From what is called sure on, one \
                     look leaves no doubt; between that and the limit it may take several."
                }
                HoseOn::Rig(_) if question.has_stop() => {
                    "Turn the valve until the gauge shows it, wait until the needle stands still, and type what it \
                     shows; near is good enough. Where the needle stands still before that, type that again. Where the valve comes to its stop first, type what the gauge shows \
                     then, and stop behind it: 21.5 stop."
                }
                _ => {
                    "Turn nothing. Wait until the needle stands still, tap the glass, and type what it shows."
                }
            };
            return format!(
                "{steady} 18.5, 18 1/2 and 18,5 are the same; a bare number is in {unit}, and 62.6 kPa works too."
            );
        }
        Wants::Barometer => BAROMETER_FORMS,
        Wants::AirTemperature => "Type it with its unit, as 22 C or 72 F; Enter takes what is said above.",
    };
    wanted.to_owned()
}

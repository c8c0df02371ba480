use crate::air::{Barometer, BarometerSource};
use crate::console::{Screen, clean};
use crate::leak::{Limits, Sure};
use crate::procedure::{Place, Source};
use crate::quantity::{INCH_OF_MERCURY, Length, Pressure, UNITS, Unit, shown};
use crate::record::{
    Circuit, HoseOn, Mode, Opening, Origin, Plan, Prices, Question, REPLACE, RigParts, Spot, Told, Wants,
    provenance,
};
use crate::rig::Calibration;
use crate::tell;

/// Column where texts begin; what stands left of it says what kind of text it is.
pub(crate) const INDENT: usize = 7;

/// Returns what stands left of a text and says what kind it is.
pub(super) fn marker(kind: &str) -> String {
    format!("{kind:>5}  ")
}

/// Draws a line across the screen with a title in it.
pub(crate) fn rule(screen: &mut Screen, title: &str) {
    let title = clean(title);
    let used = title.chars().count() + 4;
    screen.line(&format!("── {title} {}", "─".repeat(screen.width().saturating_sub(used))));
}

/// Shows what a session is about to do on this rig, or that it goes on, and who has been testing.
pub(crate) fn opened(
    screen: &mut Screen,
    opening: &Opening,
    rig: RigParts,
    goes_on: bool,
    tester: Option<&str>,
) {
    let identity = &opening.procedure;
    rule(screen, &format!("{}, version {}", identity.title, identity.version));
    if identity.origin != Origin::Shipped {
        screen
            .paragraph(INDENT, &format!("It is {}.", provenance(identity.origin, identity.signer.as_ref())));
    }
    if let Some(job) = &opening.job {
        screen.paragraph(INDENT, &format!("Job: {job}."));
    }
    let begins = match (goes_on, opening.mode) {
        (true, _) => &match tester {
            Some(tester) => format!(
                "Going on where {} was left, {tester} testing. Where somebody else tests now, type technician and the name.",
                opening.session
            ),
            None => format!("Going on where {} was left.", opening.session),
        },
        (false, Mode::Rehearsal) => {
            "A rehearsal on a simulated rig: nothing is measured, nothing enters the shop's records."
        }
        (false, Mode::Practice) => {
            "An exercise at a simulated rig: nothing is measured. Where a step has you hold a valve of the unit, it is held. At any prompt you may do things at the bench: help lists \
             the words. What is found is not told before you have committed to your verdicts."
        }
        (false, Mode::Bench) => "Every answer is kept at once; help or ? works at any prompt.",
    };
    screen.paragraph(INDENT, begins);
    if opening.rig_is_assumed && rig == opening.rig {
        let (RigParts { orifice, dial, .. }, unit) = (rig, &UNITS[0]);
        let told = format!(
            "Nobody has described this rig: an orifice of {} and a gauge to {}, marked every {}, are assumed. Describe yours, \
             parking first:\nspoolproof rig set",
            orifice.diameter(),
            dial.span().in_unit(unit),
            dial.smallest_division().in_unit(unit)
        );
        screen.paragraph(INDENT, &told);
    }
    screen.paragraph(
        INDENT,
        "The unit's service information, local codes and a licensed technician's judgement go before what you read here.",
    );
}

/// Shows which circuits a plan tests, in which order, and why.
pub(crate) fn plan(screen: &mut Screen, plan: &Plan) {
    rule(screen, "plan");
    for (index, planned) in plan.circuits.iter().enumerate() {
        let because = planned.because.join(", ");
        let why = if plan.after.is_some() {
            format!("before: {because}")
        } else {
            format!("it can cause {because}")
        };
        screen.item(&format!("{:INDENT$}{} ", "", index + 1), &format!("{}: {why}", planned.circuit));
    }
    screen.paragraph(INDENT, "The other circuits are left out, and the record says so.");
}

pub(crate) fn changed(screen: &mut Screen, begun: &Source, current: &Source) {
    rule(screen, "the procedure has changed since this session began");
    for file in &current.files {
        let what = match begun.file(&file.name) {
            None => "is new".to_owned(),
            Some(before) if before.sha256 == file.sha256 => continue,
            Some(before) => {
                let old: Vec<_> = before.text.lines().collect();
                let added = file.text.lines().filter(|line| !old.contains(line)).count();
                let new: Vec<_> = file.text.lines().collect();
                let gone = before.text.lines().filter(|line| !new.contains(line)).count();
                format!("{added} lines new or changed, {gone} gone or changed")
            }
        };
        screen.paragraph(INDENT, &format!("{}: {what}.", file.name));
    }
    screen.paragraph(
        INDENT,
        "Answers that still fit are kept, the rest is asked again. To go on as it was, park and resume with --as-begun.",
    );
}

pub(crate) fn told(screen: &mut Screen, told: &Told) {
    match told {
        Told::Section { title } => {
            screen.line("");
            rule(screen, title);
        }
        Told::Said { text } => screen.paragraph(INDENT, text),
        Told::Found { text, .. } => screen.item(&marker("found"), text),
        Told::NotFitted { circuit, why } => {
            screen.item(&marker("done"), &format!("{circuit}: not fitted ({why})"));
        }
        Told::Described { .. } | Told::Began { .. } | Told::Ended { .. } => {}
    }
}

/// Shows which circuit comes, where the hose goes and what its limits are.
pub(crate) fn circuit(screen: &mut Screen, circuit: &Circuit, place: &Place, vacuum_unit: &Unit) {
    let of = match place.n_circuits {
        0 | 1 => String::new(),
        n => format!("{}/{n}: ", place.n_tested + 1),
    };
    let port = circuit.port.as_ref().map(|port| format!(", port {port}")).unwrap_or_default();
    screen.line("");
    rule(screen, &format!("{of}{}{port}", circuit.name));
    let limits = match &circuit.limits {
        Some(limits) => judged_here(limits, &circuit.spot(&Spot::default()), place, vacuum_unit),
        None => "Its limits are to be found: it is read and recorded, and not judged.".to_owned(),
    };
    screen.paragraph(INDENT, &limits);
}

/// Says what is good and what is not where a walk is, and where one look at the gauge is sure of it.
fn judged_here(limits: &Limits, spot: &Spot, place: &Place, vacuum_unit: &Unit) -> String {
    let sure = place.bench.map(|bench| Sure::of(limits, &bench, &spot.context(None), place.confidence));
    let calibration = place.bench.as_ref().map(|bench| &bench.calibration);
    judged_by(limits, spot, calibration, sure.as_ref(), vacuum_unit)
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
    let here = calibration.and_then(|calibration| {
        let [lower, upper] = standard.map(|limit| spot.travel().of_standard(limit, calibration).ok());
        Some([lower?, upper?])
    });
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

pub(crate) fn question(
    screen: &mut Screen,
    question: &Question,
    place: &Place,
    prices: &Prices,
    enter: Option<&str>,
) {
    let kind = match question.wants {
        Wants::Acknowledgement => "CARE",
        Wants::Ready => "do",
        Wants::Wait { .. } => "wait",
        Wants::Reading { .. } => "read",
        _ => "ask",
    };
    screen.item(&marker(kind), &question.words);
    if let (Wants::Reading { on: HoseOn::Circuit { own, .. }, .. }, Some(unit)) =
        (&question.wants, question.unit())
    {
        let spot = place.spot(question);
        let judged = |limits| judged_here(limits, &spot, place, unit);
        let limits = own.limits.as_ref().map(judged).unwrap_or_default();
        let port = own.port.as_ref().map(|port| format!("Hose on port {port}. ")).unwrap_or_default();
        let own = format!("{port}{limits}");
        if !own.is_empty() {
            screen.paragraph(INDENT, own.trim_end());
        }
    }
    if let Wants::Choice { options } = &question.wants {
        numbered(screen, options);
    }
    if let (Wants::Decision { options, .. }, Some(circuit)) = (&question.wants, &place.decided) {
        decision(screen, circuit, options, prices);
    }
    if let Some(within) = question.within() {
        screen.paragraph(INDENT, &format!("Good: {within}."));
    }
    let forms = match question.wants {
        Wants::Barometer => BAROMETER_FORMS,
        Wants::AirTemperature => AIR_FORMS,
        _ => "",
    };
    let told = [forms, enter.unwrap_or_default()].join(" ");
    if !told.trim().is_empty() {
        screen.paragraph(INDENT, told.trim());
    }
}

const BAROMETER_FORMS: &str =
    "As 29.1 inHg in the room, 5280 ft of elevation, or a weather report's 30.11 inHg at 5577 ft.";

const AIR_FORMS: &str = "As 22 C or 72 F.";

/// Says what Enter alone takes: what this question and those behind it were answered with earlier the same day, else what is usual.
pub(crate) fn enter_takes(
    question: &Question,
    elevation: Option<Length>,
    earlier: &[&str],
) -> Option<String> {
    if !earlier.is_empty() {
        return Some(format!("Enter takes what was so earlier today: {}.", earlier.join(", ")));
    }
    match question.wants {
        Wants::Barometer => {
            let (at, about) = (tell::elevation(elevation?), barometer_at(elevation?)?);
            Some(format!("Enter takes what is usual at {at}: {about}, give or take the weather."))
        }
        Wants::AirTemperature => Some("Enter takes 20 °C, give or take a few degrees.".to_owned()),
        _ => None,
    }
}

/// Returns what a barometer usually shows at an elevation.
pub(crate) fn barometer_at(elevation: Length) -> Option<String> {
    let there = Barometer::new(BarometerSource::Elevation { elevation }).ok()?;
    let inhg = &UNITS[0];
    Some(inhg.written(shown(inhg.from_si(there.station().si()), 1)))
}

pub(crate) fn prompt(question: &Question) -> String {
    let wanted = match &question.wants {
        Wants::Acknowledgement => "type ok".to_owned(),
        Wants::Ready => "Enter when done".to_owned(),
        Wants::Yes => "yes or no".to_owned(),
        Wants::Wait { seconds } => format!("Enter after {seconds} s"),
        Wants::Choice { .. } | Wants::Decision { .. } => "which".to_owned(),
        Wants::Text => "words".to_owned(),
        Wants::Technician => "name".to_owned(),
        Wants::Number { unit, .. } if unit.is_empty() => "how many".to_owned(),
        Wants::Reading { unit, .. } if question.has_stop() => format!("{unit}, and stop if the valve ends"),
        Wants::Number { unit, .. } | Wants::Reading { unit, .. } => unit.clone(),
        Wants::Barometer => "barometer".to_owned(),
        Wants::AirTemperature => "temperature".to_owned(),
    };
    format!("{:INDENT$}{wanted}: ", "")
}

fn numbered(screen: &mut Screen, options: &[String]) {
    for (index, option) in options.iter().enumerate() {
        screen.item(&format!("{:INDENT$}{} ", "", index + 1), option);
    }
}

/// Shows what there is to know before something is decided about a circuit: what it does, what it can cause, and what each
/// way costs.
fn decision(screen: &mut Screen, circuit: &Circuit, options: &[String], prices: &Prices) {
    if let Some(means) = &circuit.means {
        screen.paragraph(INDENT, means);
    }
    if !circuit.symptoms.is_empty() {
        screen.paragraph(INDENT, &format!("It can cause: {}.", circuit.symptoms.join(", ")));
    }
    let repairs = prices.repairs_of(circuit);
    let cost = |option: &String| {
        let repair = repairs.iter().find(|repair| repair.does == *option);
        match prices.replacement.filter(|_| option == REPLACE) {
            Some(replacement) => Some(tell::money(replacement, prices.currency.as_deref())),
            None => tell::cost(repair?, prices),
        }
    };
    let priced = |option: &String| cost(option).map_or(option.clone(), |cost| format!("{option}: {cost}"));
    numbered(screen, &options.iter().map(priced).collect::<Vec<_>>());
}

/// Says where the needle is, or that the gauge is silent.
pub(crate) fn needle(vacuum: Option<Pressure>, unit: &Unit) -> String {
    let now = vacuum.map_or("...".to_owned(), |vacuum| vacuum.in_unit(unit));
    format!("{:INDENT$}{now:<14} settling; Ctrl-C to type instead", "")
}

pub(crate) fn seconds_left(left: f64) -> String {
    format!("{:INDENT$}{} s left; Ctrl-C parks", "", left.ceil())
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

/// Says where a question stands, and what is left.
pub(crate) fn progress(question: &Question, place: &Place) -> String {
    if let Wants::Reading { on: HoseOn::Rig(_), .. } = question.wants {
        return "The rig is being set; the circuits come after that.".to_owned();
    }
    let section = place.section.as_ref().map(|title| format!("Section \"{title}\". ")).unwrap_or_default();
    let here = match &place.circuit {
        Some(circuit) => format!("Testing \"{}\". ", circuit.name),
        None => String::new(),
    };
    let left = place.n_circuits.saturating_sub(place.n_tested);
    let circuits = match place.n_circuits {
        0 => "No circuit is begun yet.".to_owned(),
        _ => format!("{} circuits done, {left} to go.", place.n_tested),
    };
    format!("{section}{here}{circuits}")
}

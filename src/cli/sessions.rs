//! A session of a command: begun or taken up, and walked to its end.

use std::path::{Path, PathBuf};

use jiff::tz::TimeZone;
use jiff::{Timestamp, Unit};

use super::arguments::{command_in, compile, quoted, resume_command, source_in};
use super::indexed::tested_before;
use super::page::Page;
use super::practice::tell_grade;
use super::records::entered;
use super::rig;
use super::server::hand_over;
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::{LARGEST_SETTINGS, LogError, read_text, write_whole};
use crate::leak::{DEFAULT_CONFIDENCE, OilState};
use crate::procedure::{Desk, Program, Source, SourcePicture};
use crate::quantity::UNITS;
use crate::record::{
    Answer, Mode, Opening, Origin, Plan, Prices, ProcedureIdentity, Record, RigParts, SaidEarlier, Shop,
    StoreError, Wants, What, latest_rig, taken_over_by, texts,
};
use crate::rig::coaching::CalibrationGoal;
use crate::rig::{Calibration, Demand, Profile};
use crate::session::{
    Changes, Ended, Journal, ProcedureNow, Session, SessionError, screens, sweep, take_back,
};
use crate::share::Trust;

/// A session that is ready to be walked.
pub(super) struct Begun {
    pub(super) program: Program,
    /// What was settled before the first question.
    pub(super) opening: Opening,
    /// What has changed since it was.
    pub(super) changes: Changes,
    pub(super) journal: Journal,
    /// What a simulated unit is like; none of a real one.
    pub(super) unit: Option<String>,
    /// The page beside the terminal, where one is open.
    pub(super) page: Option<Page>,
}

impl Begun {
    /// Returns the circuits in the order in which they come, as far as that is known before.
    pub(super) fn in_order(&self) -> Vec<String> {
        match (&self.opening.plan, self.program.outline()) {
            (Some(plan), _) => plan.circuits.iter().map(|planned| planned.circuit.clone()).collect(),
            (None, Ok(outline)) => outline.circuits.iter().map(|circuit| circuit.name.clone()).collect(),
            (None, Err(_)) => Vec::new(),
        }
    }
}

/// Opens a new session of a procedure, of all its circuits or of a plan's.
pub(super) fn begin(
    shop: &Shop,
    program: Program,
    origin: Option<&Path>,
    mode: Mode,
    plan: Option<Plan>,
    job: Option<String>,
) -> Result<Begun, Failure> {
    let identity = program.identity();
    let unusable =
        |error: std::io::Error| Failure::wrong(format!("the shop folder can't be written: {error}"));
    let prices = match mode {
        // Everybody who works at an exercise does so at the same prices.
        Mode::Practice => Prices { replacement: program.title.replacement, ..Prices::default() },
        Mode::Bench | Mode::Rehearsal => prices(shop, &program)?,
    };
    let profile = rig::read(shop)?;
    if let (Some(profile), Mode::Bench) = (&profile, mode) {
        fit_for_the_job(profile, identity.oil.as_ref())?;
    }
    sweep(shop);
    let (now, place) = (now(), TimeZone::system());
    let chance = || getrandom::u32().map_err(std::io::Error::other);
    let session = shop.new_session(place.to_datetime(now), chance).map_err(unusable)?;
    let journal = Journal::create(&shop.journal(&session)).map_err(Failure::wrong)?;
    if let Some(origin) = origin {
        write_whole(&shop.origin(&session), found_again(origin, &identity).as_bytes()).map_err(unusable)?;
    }
    let opening = Opening {
        session,
        job,
        mode,
        program: env!("CARGO_PKG_VERSION").to_owned(),
        procedure: identity,
        texts: program.source.texts(),
        rig: profile.as_ref().map(rig::parts).unwrap_or_default(),
        rig_is_assumed: profile.is_none() && mode == Mode::Bench,
        bench: profile.and_then(|profile| profile.bench).filter(|_| mode == Mode::Bench),
        minutes_ahead: i16::try_from(place.to_offset(now).seconds() / 60).unwrap_or_default(),
        confidence: DEFAULT_CONFIDENCE,
        plan,
        prices,
        amends: None,
        exercise: None,
    };
    Ok(Begun { program, opening, changes: Changes::default(), journal, unit: None, page: None })
}

/// Returns what a session's procedure is found by again: the absolute path of a file; else its name with its version,
/// so that a version that was installed meanwhile does not change what is under way.
fn found_again(named: &Path, identity: &ProcedureIdentity) -> String {
    match identity.origin {
        Origin::File => std::path::absolute(named).unwrap_or(named.to_owned()).to_string_lossy().into_owned(),
        Origin::Shipped | Origin::Shop => format!("{}@{}", identity.id, identity.version),
    }
}

/// Refuses a rig that must not be used before it is put right; says what else is to be said of its parts.
fn fit_for_the_job(profile: &Profile, oil: Option<&OilState>) -> Result<(), Failure> {
    let goal = CalibrationGoal::usual(Calibration::standard().barometer()).map_err(Failure::wrong)?;
    let concerns = profile.concerns(&Demand { goal, line_pressure: oil.map(|oil| oil.pressure()) });
    match concerns.iter().filter(|concern| !concern.is_grave()).count() {
        0 => {}
        n => Screen::stderr()
            .say(&format!("There is more to know of the rig ({n}); it is named by:\nspoolproof rig")),
    }
    let grave: Vec<_> =
        concerns.iter().filter(|concern| concern.is_grave()).map(ToString::to_string).collect();
    if grave.is_empty() {
        return Ok(());
    }
    Err(Failure::not_in_order(format!(
        "The rig is not fit for this:\n{}\nPut it right, and say so with:\nspoolproof rig set",
        grave.join("\n")
    )))
}

/// Returns the shop's own figures.
pub(super) fn shop_prices(shop: &Shop) -> Result<Prices, Failure> {
    let path = shop.prices();
    let wrong = |error: &dyn std::fmt::Display| Failure::file(&path, error);
    let prices: Prices = match read_text(&path, LARGEST_SETTINGS) {
        Ok(text) => serde_json::from_str(&text).map_err(|error| wrong(&error))?,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Prices::default(),
        Err(error) => return Err(wrong(&error)),
    };
    // A figure that no record can hold must be said now, not when the work is done.
    prices.check().map_err(|error| wrong(&error))?;
    Ok(prices)
}

/// Returns the shop's own figures, completed by the procedure's.
fn prices(shop: &Shop, program: &Program) -> Result<Prices, Failure> {
    let mut prices = shop_prices(shop)?;
    if prices.replacement.is_none() {
        prices.replacement = program.title.replacement;
    }
    Ok(prices)
}

/// Takes up a session that is not finished. A procedure that has changed since is used as it is now, unless the session
/// is to go on as it was begun; answers that still fit are kept.
pub(super) fn resume(screen: &mut Screen, shop: &Shop, name: &str, as_begun: bool) -> Result<Begun, Failure> {
    let journal = Journal::open(&shop.journal(name)).map_err(|error| match error {
        LogError::Damaged { .. } => {
            let mend = command_in(shop, &format!("records mend {name}"));
            Failure::wrong(format!("{error}. To go on from there, the damaged file kept beside it:\n{mend}"))
        }
        error => Failure::wrong(error),
    })?;
    let Some(What::Opened { opening }) = journal.events().first().map(|event| event.what.clone()) else {
        let folder = shop.session(name);
        return Err(Failure::wrong(format!(
            "the session \"{name}\" was never opened; remove {}",
            folder.display()
        )));
    };
    take_back(shop, name).map_err(|error| Failure::file(&shop.pictures(), &error))?;
    let used = journal.procedure().unwrap_or(&opening.procedure).clone();
    if let (Ok(trust), Ok(version)) = (Trust::of(shop), used.version.parse())
        && let Some(withdrawn) = trust.withdrawn(&used.id, version, used.signer.as_ref())
    {
        screen.paragraph(screens::INDENT, &format!("{withdrawn}. This session was begun before that."));
    }
    let kept = Source::kept(&used, texts(journal.events()));
    let kept = kept.map_err(|fault| Failure::wrong(fault.render(None)))?;
    let origin = read_text(&shop.origin(name), LARGEST_SETTINGS).ok().map(PathBuf::from);
    let (rig, was_rig_used) = what_became_of_rig(screen, shop, name, &opening, &journal)?;
    let current = origin
        .filter(|_| !as_begun && !journal.is_finished())
        .and_then(|origin| source_in(shop, &origin).ok());
    let (program, procedure) = match current.filter(|current| !current.is_of(&used)) {
        None => (compile(kept)?, None),
        Some(current) => {
            screens::changed(screen, &kept, &current);
            let program = compile(current)?;
            let changed = ProcedureNow { identity: program.identity(), texts: program.source.texts() };
            (program, Some(Box::new(changed)))
        }
    };
    Ok(Begun {
        program,
        opening: *opening,
        changes: Changes { procedure, rig, was_rig_used, technician: None },
        journal,
        unit: None,
        page: None,
    })
}

/// Says what became of the rig since a session was left; returns its parts where they have changed, and whether
/// another session was at it.
fn what_became_of_rig(
    screen: &mut Screen,
    shop: &Shop,
    name: &str,
    opening: &Opening,
    journal: &Journal,
) -> Result<(Option<RigParts>, bool), Failure> {
    let parts = rig::read(shop)?.as_ref().map(rig::parts);
    let is_bench = opening.mode == Mode::Bench;
    let has_changed = |parts: &RigParts| *parts != latest_rig(journal.events()).unwrap_or(opening.rig);
    let rig = parts.filter(|parts| is_bench && has_changed(parts));
    if rig.is_some() {
        screen.paragraph(
            screens::INDENT,
            "The rig's parts have changed since this session began, so it is set again and every circuit read again.",
        );
    }
    let is_used = |looked: Timestamp| is_bench && shop.was_rig_used(name, looked);
    let was_rig_used = journal.looked_at_rig().is_some_and(is_used);
    if was_rig_used && rig.is_none() && !journal.is_finished() {
        screen.paragraph(
            screens::INDENT,
            "Another session was at the rig since, so the rig is looked at before the next circuit. If it was left half \
             set, take back what was read of it.",
        );
    }
    Ok((rig, was_rig_used))
}

/// The only clock: the machine's, to the millisecond.
pub(super) fn now() -> Timestamp {
    let now = Timestamp::now();
    now.round(Unit::Millisecond).unwrap_or(now)
}

/// Walks a session to its end or until it is parked, and says how it ended.
pub(super) fn walk(shop: Shop, begun: Begun, live: Box<dyn Desk>) -> Outcome {
    let Begun { program, opening, changes, journal, unit, page } = begun;
    let mut screen = Screen::stdout();
    let rig = changes.rig.or_else(|| latest_rig(journal.events())).unwrap_or(opening.rig);
    let began = journal.standing().find_map(|(_, question, answer)| match (&question.wants, answer) {
        (Wants::Technician, Answer::Text(name)) => Some(name),
        _ => None,
    });
    let now_testing = changes.technician.as_ref();
    let last = taken_over_by(journal.events()).next_back().map(|(_, name)| name);
    let tester = now_testing.or(last).or(began).cloned();
    let name = opening.session.clone();
    let beside = page.as_ref().map(Page::flag).unwrap_or_default();
    let again = format!("{}{beside}", resume_command(&shop, &name));
    if let Some(page) = &page {
        page.hears(&mut screen);
        page.opened(&opening, tester.as_deref(), &again);
    }
    screens::opened(&mut screen, &opening, rig, !journal.events().is_empty(), tester.as_deref());
    if let Some(unit) = unit {
        screen.paragraph(screens::INDENT, &unit);
    }
    let (is_at_bench, is_attempt) = (opening.mode == Mode::Bench, opening.exercise.is_some());
    if is_at_bench && program.outline().is_ok_and(|outline| outline.is_silent_on_suction) {
        let told =
            format!("This procedure may warn of the hose too late or not at all. {}", screens::SUCTION);
        screen.paragraph(screens::INDENT, &told);
    }
    keep_pictures(&mut screen, &shop, &program);
    page.iter().for_each(|page| page.hold_pictures(&shop, &program));
    tracing::info!(session = name, answers = journal.standing().count(), "walking");
    let session = Session::new(shop.clone(), opening, changes, journal, live, now, &UNITS[0])
        .map_err(Failure::wrong)?;
    let ended = session.run(&program, |record| entered(&shop, record));
    if let Some(page) = &page {
        page.is_over(&ended);
    }
    let is_nobodys =
        is_attempt && matches!(ended, Ok(Ended::Parked | Ended::Lost(_))) && session.is_unanswered();
    if let (Ok(ended), true) = (&ended, is_at_bench) {
        shop.remember(match ended {
            Ended::Finished(record, _) => SaidEarlier::of(&record.journal),
            _ => session.said(),
        });
    }
    let outcome = match ended {
        Ok(_) if is_nobodys => {
            session.put_away();
            Err(Failure::paused("Nobody has begun this attempt, so nothing is left open."))
        }
        Ok(ended) => tell_end(&mut screen, &shop, &program, (&name, &again), ended),
        Err(error) => Err(not_stored(&mut screen, (&name, &again), error)),
    };
    if let Some(page) = page {
        page.close(&outcome);
    }
    outcome
}

/// Says how a session ended.
fn tell_end(
    screen: &mut Screen,
    shop: &Shop,
    program: &Program,
    (name, again): (&str, &str),
    ended: Ended,
) -> Outcome {
    tracing::info!(session = name, ended = ended.kind(), "stopped");
    match ended {
        Ended::Finished(record, path) => {
            if record.grade.is_some() {
                tell_grade(screen, shop, &record, &path);
                return Ok(Status::Done);
            }
            let before = tested_before(shop, &record);
            let then = after_repair(&record).map(|(when, command)| (when, command_in(shop, &command)));
            let then: Vec<_> = then.collect();
            screens::finished(screen, &record, before.as_ref(), &path, &then);
            if let (Mode::Bench, Some(told)) = (record.mode, hand_over(shop)) {
                screen.say(&told);
            }
            Ok(Status::Done)
        }
        Ended::Parked => {
            screen.say(&format!("Parked. Nothing is lost; go on with:\n{again}"));
            Ok(Status::Paused)
        }
        Ended::Lost(why) => Err(Failure::paused(format!(
            "Stopped: {why}. Every answer before this one is kept; go on with:\n{again}"
        ))),
        Ended::Stranded(why, text) => Err(stranded(screen, (name, again), &why, &text, &shop.journal(name))),
        Ended::Broken(fault) => {
            let text = program.source.render(&[*fault]);
            Err(Failure::not_in_order(format!(
                "{text}\n\nThe procedure has a fault. Every answer is kept; when it is mended, go on with:\n\
                 {again}"
            )))
        }
    }
}

/// Keeps the pictures of a procedure, so that a report can show them when the procedure has another. Without them a
/// session goes on all the same.
fn keep_pictures(screen: &mut Screen, shop: &Shop, program: &Program) {
    for picture in program.source.pictures.iter().filter_map(SourcePicture::picture) {
        if let Err(error) = shop.keep_picture(picture) {
            let folder = shop.pictures();
            let told = format!(
                "{}: {error}. A report of this session will be without its pictures.",
                folder.display()
            );
            return screen.paragraph(screens::INDENT, &told);
        }
    }
}

/// Returns what comes after the repairs that were decided on, and by which command; of a job, what was
/// done is noted first.
fn after_repair(record: &Record) -> impl Iterator<Item = (&'static str, String)> {
    let again = "After the repair, test again what did not hold:";
    let commands = match record.job.as_deref().map(quoted) {
        Some(job) => vec![
            ("After the repair, note what was really done:", format!("job repaired {job}")),
            (again, format!("guide --retest {job}")),
        ],
        None => vec![(again, format!("guide --retest {}", record.session))],
    };
    commands.into_iter()
}

/// Saves a record that could not be stored in its place: in the first folder that takes it, else on the screen.
fn not_stored(screen: &mut Screen, (name, again): (&str, &str), error: SessionError) -> Failure {
    let SessionError::Store(cause @ StoreError::Io(..), Some(text)) = &error else {
        return Failure::wrong(error);
    };
    match saved_elsewhere(screen, &format!("{name}.json"), text) {
        Some(path) => Failure::wrong(format!(
            "{cause}\nThe record is saved as {} instead. When the shop folder can be written again, this puts it in its \
             place:\n{again}",
            path.display()
        )),
        None => Failure::wrong(cause),
    }
}

/// Saves the journal of a session whose folder is out of reach.
fn stranded(screen: &mut Screen, (name, again): (&str, &str), why: &str, text: &str, home: &Path) -> Failure {
    match saved_elsewhere(screen, &format!("{name}.journal.jsonl"), text) {
        Some(path) => Failure::paused(format!(
            "{why}\nWhat could not be written is not kept; all before it is saved as {}. When the shop folder can be \
             written again, go on with:\n{again}\nIf the folder has lost it, put the saved file \
             back first, as {}.",
            path.display(),
            home.display()
        )),
        None => Failure::paused(why),
    }
}

/// Saves a text in the first folder that takes it; where none does, shows the whole text instead.
fn saved_elsewhere(screen: &mut Screen, name: &str, text: &str) -> Option<PathBuf> {
    let folders = [std::env::current_dir().ok(), etcetera::home_dir().ok(), Some(std::env::temp_dir())];
    for path in folders.into_iter().flatten().map(|folder| folder.join(name)) {
        if write_whole(&path, text.as_bytes()).is_ok() {
            return Some(path);
        }
    }
    screen.line("Nothing can be saved anywhere; this is the whole text:");
    screen.document(text);
    None
}

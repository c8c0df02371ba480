use std::path::{Path, PathBuf};

use clap::Args;

use super::arguments::{ShopFolder, of_record, program, unnamed};
use super::complaints::from_complaints;
use super::indexed::amended_by;
use super::job::{in_words, job_name, known};
use super::job_screen::told_before_retest;
use super::open_sessions;
use super::page::PageArguments;
use super::records;
use super::rig;
use super::sessions::{Begun, begin, now, resume, walk};
use super::status::{Failure, Outcome};
use crate::console::Screen;
use crate::procedure::Program;
use crate::quantity::UNITS;
use crate::record::{Mode, Plan, Record, Shop, read};
use crate::rig::Dial;
use crate::rig::gauge::{GaugeSource, LineFormat, StreamGauge};
use crate::session::{Needle, Person, screens};

/// Walk through a procedure at the bench and leave a record.
///
/// Every answer is on the disk before the next question comes. Type help at any prompt.
#[derive(Debug, Args)]
pub(super) struct Guide {
    /// Name of a shipped or installed procedure, as NAME or NAME@VERSION, or the file of any other
    procedure: Option<PathBuf>,
    /// Test only the circuits that can cause this complaint, in a customer's words or as a trouble code; several times
    /// or with commas for several complaints, those that fit more of them first
    #[arg(long, value_name = "TEXT", requires = "procedure")]
    complaint: Vec<String>,
    /// What the shop knows the job by, such as an order's number; the report names it
    #[arg(long, value_name = "TEXT", value_parser = job_name, conflicts_with = "resume")]
    job: Option<String>,
    /// Take up a parked session: its name or its job; where there are several, nothing asks which
    #[arg(long, value_name = "SESSION", num_args = 0..=1, conflicts_with_all = ["procedure", "retest"])]
    resume: Option<Option<String>>,
    /// Go on with the procedure as it was when the session began, even if it has changed since
    #[arg(long, requires = "resume")]
    as_begun: bool,
    /// Who goes on with it, where that is somebody else than who tested before
    #[arg(long, value_name = "NAME", value_parser = in_words, requires = "resume")]
    technician: Option<String>,
    /// After a repair, test again what did not hold in this session, named by itself or by its job
    #[arg(long, value_name = "SESSION", conflicts_with = "procedure")]
    retest: Option<String>,
    /// Take answers from a file first, one a line; # begins a comment
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
    #[command(flatten)]
    gauge: GaugeArguments,
    #[command(flatten)]
    page: PageArguments,
}

impl Guide {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        // What is not there or no procedure opens no page.
        let named = match (&self.procedure, &self.resume, &self.retest) {
            (Some(named), None, None) => Some((named, program(&shop, named)?)),
            (None, None, None) => return Err(unnamed(&shop)),
            _ => None,
        };
        let mut screen = Screen::stdout();
        let (mut prompt, page) = self.page.prompt(self.answers.as_deref())?;
        page.iter().for_each(|page| page.hears(&mut screen));
        let mut begun = match (&self.resume, &self.retest, named) {
            (Some(name), ..) => {
                let name = open_sessions::found(&shop, name.as_deref(), &mut prompt)?;
                self.gone_on_with(&shop, &name, &mut screen)?
            }
            (None, Some(session), _) => self.tested_again(&shop, session, &mut screen)?,
            (None, None, Some((named, program))) => self.begun(&shop, named, program, &mut screen)?,
            (None, None, None) => return Err(unnamed(&shop)),
        };
        let elevation = rig::read(&shop)?.and_then(|profile| profile.elevation);
        let is_blind = begun.opening.plan.as_ref().is_some_and(Plan::is_in_rounds);
        let mut person = Person::new(prompt, &UNITS[0])
            .blind(is_blind)
            .at_bench()
            .at_elevation(elevation)
            .with_prices(begun.opening.prices.clone())
            .offered(shop.said_earlier(now()).answers())
            .looking_at(begun.opening.rig.dial);
        if page.is_some() {
            person = person.through(begun.in_order());
        }
        begun.page = page;
        if let Some(needle) = self.gauge.open(begun.opening.rig.dial)? {
            person = person.with_needle(needle);
        }
        walk(shop, begun, Box::new(person))
    }

    fn gone_on_with(&self, shop: &Shop, name: &str, screen: &mut Screen) -> Result<Begun, Failure> {
        let mut begun = resume(screen, shop, name, self.as_begun)?;
        begun.changes.technician.clone_from(&self.technician);
        if begun.opening.exercise.is_some() {
            return Err(Failure::wrong(format!(
                "{name} is an attempt at an exercise, which goes on at its own bench: practice --resume {name}"
            )));
        }
        Ok(begun)
    }

    fn tested_again(&self, shop: &Shop, session: &str, screen: &mut Screen) -> Result<Begun, Failure> {
        let mut earlier = earlier(shop, session)?;
        if let Some(standing) = amended_by(shop, &earlier.session) {
            let told = format!("{} was amended by {standing}, which counts in its place.", earlier.session);
            screen.paragraph(screens::INDENT, &told);
            earlier = self::earlier(shop, &standing)?;
        }
        let plan = Plan::after_repair(&earlier);
        // What was found beside circuits is asked again by whatever is walked.
        if plan.circuits.is_empty() && earlier.findings.iter().all(|finding| finding.circuit.is_some()) {
            return Err(Failure::wrong(format!(
                "every circuit of {session} holds; there is nothing to test again"
            )));
        }
        screens::plan(screen, &plan);
        let program = of_record(&earlier)?;
        let job = self.job.clone().or(earlier.job);
        if let Some(standing) = job.as_ref().and_then(|job| known(shop, job).ok()) {
            told_before_retest(screen, shop, &standing, screens::INDENT);
        }
        begin(shop, program, None, Mode::Bench, Some(plan), job)
    }

    fn begun(
        &self,
        shop: &Shop,
        named: &Path,
        program: Program,
        screen: &mut Screen,
    ) -> Result<Begun, Failure> {
        let plan = (!self.complaint.is_empty())
            .then(|| from_complaints(shop, &program, named, &self.complaint))
            .transpose()?;
        if let Some(plan) = &plan {
            screens::plan(screen, plan);
        }
        let plan = plan.map_or_else(|| in_drawn_order(&program), |plan| Ok(Some(plan)))?;
        open_sessions::remind(screen, shop, program.title.unit.as_deref());
        begin(shop, program, Some(named), Mode::Bench, plan, self.job.clone())
    }
}

/// Draws the order of pieces that are read in rounds; none of other circuits. The order stands in the session's plan.
fn in_drawn_order(program: &Program) -> Result<Option<Plan>, Failure> {
    // What can't be outlined, the walk says.
    let Ok(outline) = program.outline() else { return Ok(None) };
    let seed = getrandom::u32().map_err(Failure::wrong)?;
    Ok(Plan::in_drawn_order(&outline.circuits, seed))
}

/// Reads the record that a session left.
pub(super) fn earlier(shop: &Shop, session: &str) -> Result<Record, Failure> {
    let name = records::session(shop, session)?;
    let record = read(&shop.record(&name)).map_err(Failure::not_in_order)?;
    if !record.is_as_stored() {
        return Err(Failure::not_in_order(format!(
            "{name} is not as it was stored, so nothing is built on it; records audit says how that shows"
        )));
    }
    Ok(record)
}

/// A gauge that reads itself.
#[derive(Debug, Args)]
struct GaugeArguments {
    /// Read a gauge that sends lines: a serial port, a pipe or a file; it offers its value when it has settled
    #[arg(long, value_name = "PORT")]
    gauge: Option<PathBuf>,
    /// How its lines look, with {} where the number stands
    #[arg(long, value_name = "LINE", default_value = "{}", requires = "gauge")]
    gauge_line: String,
    /// The unit of its numbers
    #[arg(long, value_name = "UNIT", default_value = "inHg", requires = "gauge")]
    gauge_unit: String,
    /// It prints a vacuum as a negative pressure
    #[arg(long, requires = "gauge")]
    gauge_negative: bool,
    /// Speed of a serial port; anything else is read as it is
    #[arg(long, value_name = "BAUD", requires = "gauge")]
    baud: Option<u32>,
}

impl GaugeArguments {
    /// Opens the gauge, where one is named.
    fn open(self, dial: Dial) -> Result<Option<Needle>, Failure> {
        let Some(place) = self.gauge else { return Ok(None) };
        let format = LineFormat::new(&self.gauge_line, &self.gauge_unit).map_err(Failure::wrong)?;
        let format = if self.gauge_negative { format.with_negative_vacuum() } else { format };
        let source = match self.baud {
            Some(baud) => GaugeSource::Serial { port: place, baud },
            None => GaugeSource::Stream(place),
        };
        let stream = source.open().map_err(Failure::wrong)?;
        Ok(Some(Needle::new(Box::new(StreamGauge::new(stream, format)), dial.smallest_division())))
    }
}

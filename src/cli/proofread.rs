use std::path::PathBuf;

use clap::Args;

use super::arguments::{ShopFolder, outline, program_or_pack, source};
use super::rig;
use super::status::{Failure, Outcome, Status};
use crate::air::{Barometer, BarometerSource};
use crate::console::Screen;
use crate::disk::write_whole;
use crate::proofread::{lesson, proofread, worksheet};
use crate::record::{BenchState, Shop};
use crate::report::{pictures_of, sheet_page};

/// Walk a procedure without a rig: what is wrong with it, and what of it was reached.
///
/// Of the statements that ask or tell it says how many were reached, how many are impossible (all answers that decide
/// it were tried together), and how many were not tried. Finds what is written wrong, what goes wrong on some answers
/// or with some circuits left out, and what a technician will stumble over. Exit status 1 where there are errors.
#[derive(Debug, Args)]
pub(super) struct Proofread {
    /// File of the procedure, or the name of a shipped or installed one
    procedure: PathBuf,
    /// Print one JSON document, for editors
    #[arg(long)]
    json: bool,
    /// Write the answers that lead to the first finding to a file, for guide --answers
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
}

impl Proofread {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let report = proofread(source(shop, &self.procedure)?);
        let mut screen = Screen::stdout();
        if self.json {
            screen.json(&report.json());
        } else {
            // Faults go to one place, whichever command comes by them.
            let mut faults = Screen::stderr();
            report.fault_texts().for_each(|fault| faults.message(&format!("{fault}\n\n")));
            screen.message(&report.summary());
        }
        if let (Some(path), Some(answers)) = (&self.answers, report.answers()) {
            write_whole(path, answers.as_bytes()).map_err(|error| Failure::file(path, error))?;
        }
        Ok(if report.is_sound() { Status::Done } else { Status::NotInOrder })
    }
}

/// Print a procedure as a paper form, for a bench without a computer.
///
/// It has a numbered field for everything that the procedure may ask, and says when that is where that was shown and
/// can be said; else the field is for the bench with a computer only. Its limits are those that the shop's gauge shows
/// at the shop's elevation, where rig knows that, else those of sea level. Fill it in at the bench; guide asks for its
/// fields in the same order.
#[derive(Debug, Args)]
pub(super) struct Worksheet {
    /// File of the procedure, or the name of a shipped one
    procedure: PathBuf,
    /// Print a sheet for a lesson instead: what each circuit's leak does on the road, with room for
    /// readings and judgement
    #[arg(long)]
    lesson: bool,
    /// Write a page to this file instead, to read in a browser and to print: the pictures with the
    /// ports on them stand on it
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
}

impl Worksheet {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open()?;
        let program = program_or_pack(&shop, &self.procedure)?;
        let (form, is_sound) = match self.lesson {
            true => (lesson(&program, outline(&program)?), true),
            false => worksheet(&program, bench_at_elevation(&shop)?),
        };
        let mut screen = Screen::stdout();
        match &self.html {
            None => screen.document(&form),
            Some(file) => {
                let pictures = pictures_of(outline(&program)?, |name| program.source.picture(name).cloned());
                let page = sheet_page(&program.title.title, &pictures, &form);
                write_whole(file, page.as_bytes()).map_err(|error| Failure::file(file, error))?;
                screen.line(&format!("Written: {}", file.display()));
            }
        }
        Ok(if is_sound { Status::Done } else { Status::NotInOrder })
    }
}

/// Returns the shop's rig as it is set at the shop's elevation; none where that is not known.
fn bench_at_elevation(shop: &Shop) -> Result<Option<BenchState>, Failure> {
    let Some(profile) = rig::read(shop)? else { return Ok(None) };
    let Some(elevation) = profile.elevation else { return Ok(None) };
    let barometer = Barometer::new(BarometerSource::Elevation { elevation }).map_err(Failure::wrong)?;
    BenchState::on_its_points(rig::parts(&profile), barometer).map(Some).map_err(Failure::wrong)
}

use std::path::{Path, PathBuf};

use clap::Args;

use super::arguments::ShopFolder;
use super::indexed::tested_before;
use super::practice::refuse_held_back;
use super::records::{audited, reported, tested_again};
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::write_whole;
use crate::picture::{DRAWING, Picture};
use crate::procedure::SHIPPED;
use crate::quantity::UNITS;
use crate::record::{
    JobNotes, PictureDigest, Record, Shop, ShopAddress, job_notes, photo_beside, picture_in, pictures_beside,
    sha256,
};
use crate::report::{JobReport, PhotoStory, ReportedRecord, page, show};

/// Tell a job or a record in words: a page for the customer, then the figures behind it.
///
/// What was done at the bench alone, as commissioning a rig, has no such page. Of a job all tests are told, each after
/// a repair beside the one before it, with what is noted of the job.
#[derive(Debug, Args)]
pub(super) struct ReportCommand {
    /// A job, a session's name or a record's file; nothing for the latest record and its job
    #[arg(value_name = "JOB")]
    about: Option<PathBuf>,
    /// Write a page to this file instead, to read in a browser and to print
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
    /// Leave out customer and vehicle, to hand it on
    #[arg(long)]
    without_customer: bool,
}

impl ReportCommand {
    pub(super) fn run(self, shop: &ShopFolder) -> Outcome {
        let shop = shop.open_to_read()?;
        let paths = reported(&shop, self.about.as_deref())?;
        let (mut told, mut status) = (Vec::new(), Status::Done);
        for path in &paths {
            let (record, warnings, worse) = audited(&shop, path)?;
            refuse_held_back(&shop, &record)?;
            status = status.max(worse);
            let before = tested_before(&shop, &record);
            let pictures = pictures_of(path, &record);
            let photos = PhotoStory::all(&record, |photo| {
                photo_beside(path, photo).map_err(|fault| fault.to_string())
            });
            told.push(ReportedRecord { record, before, warnings, pictures, photos });
        }
        let sessions: Vec<String> = told.iter().map(|told| told.record.session.clone()).collect();
        for told in &mut told {
            told.warnings.extend(tested_again(&shop, &told.record, &sessions));
        }
        let notes = notes(&shop, &told, &paths)?;
        let notes = if self.without_customer { notes.without_customer() } else { notes };
        let address = ShopAddress::of(&shop).map_err(|error| Failure::file(&shop.address(), error))?;
        let report = JobReport::of(&told, &notes, &address, &UNITS[0]);
        let mut screen = Screen::stdout();
        let Some(file) = self.html else {
            show(&mut screen, &report);
            return Ok(status);
        };
        write_whole(&file, page(&report).as_bytes()).map_err(|error| Failure::file(&file, error))?;
        report.warnings().iter().for_each(|warning| screen.item("! ", warning));
        if report.is_for_customer() && address.lines().next().is_none() {
            screen.say("It has no head, as the shop has not said its name: shop set --name does.");
        }
        screen.line(&format!("Written: {}", file.display()));
        Ok(status)
    }
}

/// Returns the pictures of the procedure that a record came of, by their digests: those that are kept where it lies,
/// and those that are shipped.
fn pictures_of(path: &Path, record: &Record) -> Vec<(String, Picture)> {
    let shipped = SHIPPED.iter().find(|shipped| shipped.id == record.procedure.id);
    let shipped = shipped.and_then(|shipped| shipped.source().ok());
    let found = |digest: &PictureDigest| {
        let shipped = shipped.as_ref().and_then(|source| source.picture(&digest.name));
        let shipped = shipped.filter(|picture| sha256(picture.bytes()) == digest.sha256).cloned();
        picture_in(&pictures_beside(path), &digest.sha256, DRAWING).or(shipped)
    };
    let digests = record.procedure.pictures.iter();
    digests.filter_map(|digest| Some((digest.sha256.clone(), found(digest)?))).collect()
}

/// Returns what is noted of the job of the records; of one that lies elsewhere nothing, as another shop's
/// job may have that name.
fn notes(shop: &Shop, told: &[ReportedRecord], paths: &[PathBuf]) -> Result<JobNotes, Failure> {
    let is_own = |path: &Path, session: &str| path == shop.record(session);
    let own = told.iter().zip(paths).find(|(told, path)| is_own(path, &told.record.session));
    let Some(job) = own.and_then(|(told, _)| told.record.job.as_ref()) else {
        return Ok(JobNotes::default());
    };
    Ok(job_notes(shop).map_err(Failure::wrong)?.remove(job).unwrap_or_default())
}

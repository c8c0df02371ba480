use super::customer::CustomerPage;
use super::photo::PhotoStory;
use super::port_picture::port_pictures;
use super::story::Story;
use crate::picture::Picture;
use crate::quantity::Unit;
use crate::record::{JobNotes, Record, ShopAddress};

/// The report of a job, or of a record by itself: the page for the customer, then the figures behind it, test by test.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct JobReport {
    pub(super) title: String,
    /// None of what was done at the bench alone, as commissioning a rig: no customer has to do with it.
    pub(super) customer: Option<CustomerPage>,
    /// The tests, in order.
    pub(super) stories: Vec<Story>,
}

/// A record as a report takes it.
pub(crate) struct ReportedRecord {
    pub(crate) record: Record,
    /// The earlier one that it builds on, where that is at hand.
    pub(crate) before: Option<Record>,
    /// Why it is not to be relied on, or not the last word.
    pub(crate) warnings: Vec<String>,
    /// The pictures of its procedure that are at hand, by their digests.
    pub(crate) pictures: Vec<(String, Picture)>,
    pub(crate) photos: Vec<PhotoStory>,
}

impl JobReport {
    /// Tells records, in the order of their tests, with what is noted of their job, and vacuums in a unit.
    pub(crate) fn of(
        reported: &[ReportedRecord],
        notes: &JobNotes,
        shop: &ShopAddress,
        unit: &'static Unit,
    ) -> JobReport {
        let records: Vec<&Record> = reported.iter().map(|reported| &reported.record).collect();
        let mut customer = records
            .iter()
            .any(|record| record.procedure.unit.is_some())
            .then(|| CustomerPage::of(&records, notes, shop, unit));
        let mut told = |ReportedRecord { record, before, warnings, pictures, photos }: &ReportedRecord| {
            let (warnings, pictures) = (warnings.clone(), port_pictures(record, pictures));
            let mut photos = photos.clone();
            for photo in &mut photos {
                photo.is_above = customer.as_mut().is_some_and(|page| page.takes(record, photo));
            }
            Story { warnings, pictures, photos, ..Story::of(record, before.as_ref(), unit) }
        };
        let stories = reported.iter().map(&mut told).collect();
        JobReport {
            title: records.last().map(|record| record.procedure.title.clone()).unwrap_or_default(),
            customer,
            stories,
        }
    }

    /// Returns what is to be said before all else: each warning of a test once.
    pub(crate) fn warnings(&self) -> Vec<&str> {
        let mut warnings: Vec<&str> =
            self.stories.iter().flat_map(|story| &story.warnings).map(String::as_str).collect();
        warnings.dedup();
        warnings
    }

    /// Returns whether it begins with a page for the customer.
    pub(crate) fn is_for_customer(&self) -> bool {
        self.customer.is_some()
    }

    pub(super) fn is_rehearsal(&self) -> bool {
        self.stories.iter().any(|story| story.is_rehearsal)
    }

    /// Names the part of a test.
    pub(super) fn part(&self, index: usize) -> String {
        let figures = if self.is_for_customer() { "The figures behind it" } else { "The figures" };
        match self.stories.len() {
            1 => figures.to_owned(),
            n => format!("{figures}, test {} of {n}", index + 1),
        }
    }
}

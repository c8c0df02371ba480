use std::sync::Arc;

use data_encoding::BASE64;

use super::markup::{Markup, classed, plain, void};
use crate::record::{Photo, Record};
use crate::tell;

/// A photo of a session, as a report shows it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PhotoStory {
    /// The circuit that was under test.
    pub(super) circuit: Option<String>,
    /// The circuit, when it was taken and what it shows.
    told: String,
    /// Whether the page for the customer has it.
    pub(super) is_above: bool,
    width: u32,
    height: u32,
    /// The JPEG, or why it is not at hand.
    jpeg: Result<Arc<[u8]>, String>,
}

impl PhotoStory {
    /// Tells the photos of a record; `jpeg` finds one, or says why it is not there.
    pub(crate) fn all(record: &Record, jpeg: impl Fn(&Photo) -> Result<Vec<u8>, String>) -> Vec<PhotoStory> {
        let photos = record.photos().map(|(event, circuit, photo)| PhotoStory {
            circuit: circuit.map(str::to_owned),
            told: tell::photo(record, event, circuit, photo),
            is_above: false,
            width: photo.width,
            height: photo.height,
            jpeg: jpeg(photo).map(Arc::from),
        });
        photos.collect()
    }

    /// Says in a line what it shows, and where it can't be shown, why.
    pub(super) fn line(&self) -> String {
        match &self.jpeg {
            Ok(_) if self.is_above => format!("{} (on the page for the customer)", self.told),
            Ok(_) => self.told.clone(),
            Err(why) => format!("{}. It cannot be shown: {why}", self.told),
        }
    }

    /// Returns it with its words below; the picture stands in the page itself, which loads nothing.
    pub(super) fn figure(&self) -> Markup {
        let (width, height) = (self.width.to_string(), self.height.to_string());
        let picture = self.jpeg.as_ref().ok().filter(|_| !self.is_above).map(|jpeg| {
            let source = format!("data:image/jpeg;base64,{}", BASE64.encode(jpeg));
            void("img", &[("src", &source), ("width", &width), ("height", &height), ("alt", &self.told)])
        });
        let mut figure = Markup::default();
        figure.extend(picture);
        figure.push(plain("figcaption", self.line()));
        classed("figure", "photo", figure)
    }
}

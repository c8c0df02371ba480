//! A photo on its way from a browser: as slow as a network may be, and decoded before the session hears of it.

use std::time::Duration;

use http_body_util::BodyExt;
use hyper::StatusCode;
use hyper::body::Incoming;
use tokio::sync::{Mutex, Semaphore};
use tokio::time::{Instant, timeout_at};

use crate::picture::{BadPicture, PHOTO, Picture};

/// How long a photo may take to arrive and to be decoded.
pub(super) const LONGEST: Duration = Duration::from_secs(15 * 60);

/// What comes of a photo in so many bytes a second and more is waited for, up to the longest;
/// before it begins, so long.
const SLOWEST: u64 = 16 * 1024;
const GRACE: Duration = Duration::from_secs(10);

/// How many photos are on their way at most: each may be as large as it may.
const MOST: usize = 4;

/// Where photos arrive, and are decoded one after the other: that takes much more memory than their files.
pub(super) struct Uploads {
    places: Semaphore,
    decoding: Mutex<()>,
}

/// Why a photo is not taken, as it is answered.
type NoPhoto = (StatusCode, String);

impl Default for Uploads {
    fn default() -> Uploads {
        Uploads { places: Semaphore::new(MOST), decoding: Mutex::default() }
    }
}

impl Uploads {
    /// Takes the photo of a file of this name.
    pub(super) async fn photo(&self, name: &str, body: Incoming) -> Result<Picture, NoPhoto> {
        let Ok(_place) = self.places.try_acquire() else {
            let why = "Other photos are on their way. Send this one again when they have arrived.";
            return Err((StatusCode::SERVICE_UNAVAILABLE, why.to_owned()));
        };
        let file = arrived(name, body).await?;
        let _alone = self.decoding.lock().await;
        let decoded = tokio::task::spawn_blocking(move || Picture::of_photo(file)).await;
        let broken = |_| (StatusCode::INTERNAL_SERVER_ERROR, format!("{name} could not be decoded."));
        decoded.map_err(broken)?.map_err(|why| (StatusCode::UNPROCESSABLE_ENTITY, why.of_photo(name)))
    }
}

/// Reads a file, while it comes on.
async fn arrived(name: &str, mut body: Incoming) -> Result<Vec<u8>, NoPhoto> {
    let no_photo = |status, why: &str| Err((status, why.to_owned()));
    let (begun, mut file) = (Instant::now(), Vec::new());
    loop {
        let due = GRACE + Duration::from_secs(file.len() as u64 / SLOWEST);
        match timeout_at(begun + due.min(LONGEST), body.frame()).await {
            Err(_) => {
                let why =
                    "The photo came too slowly, and was given up. Send it again, smaller or from nearer by.";
                return no_photo(StatusCode::REQUEST_TIMEOUT, why);
            }
            Ok(None) => return Ok(file),
            Ok(Some(Err(_))) => return no_photo(StatusCode::BAD_REQUEST, "The photo broke off on its way."),
            // What is no data stands behind it, and is nobody's.
            Ok(Some(Ok(frame))) => file.extend_from_slice(frame.data_ref().map_or(&[], |data| &data[..])),
        }
        if file.len() as u64 > PHOTO.bytes {
            let heavy = BadPicture::Heavy { most: PHOTO.bytes };
            return Err((StatusCode::PAYLOAD_TOO_LARGE, heavy.of_photo(name)));
        }
    }
}

//! What the history has of a rig that drifted.

use super::narrowed::index_of;
use crate::quantity::INCH_OF_MERCURY;
use crate::tests::support::{Shopfront, near};

#[test]
fn the_look_that_found_a_rig_drifted_stands_among_its_checks() {
    let front = Shopfront::new("test(c);");
    let lines = "Ada|29.92 inHg|20 C|25|5||22|25.6|5.9|25.6|5.9|25|5||21.5|25|5";
    let (_folder, index) = index_of(&[front.finish_bare(&lines.split('|').collect::<Vec<_>>())]);
    let points = index.drift(&index.rigs().unwrap()[0], 50).unwrap();
    let found = |higher: f64| higher / INCH_OF_MERCURY;
    assert_eq!(points.iter().map(|point| point.calibration).collect::<Vec<_>>(), [1, 2]);
    assert_eq!(points.iter().map(|point| point.drifted).collect::<Vec<_>>(), [true, false]);
    near(found(points[0].plugged), 0.6, 1e-3);
    near(found(points[0].through), 0.9, 1e-3);
    near(found(points[1].plugged), 0.0, 1e-3);
}

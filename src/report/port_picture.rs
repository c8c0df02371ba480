use crate::leak::Verdict;
use crate::picture::Picture;
use crate::procedure::Outline;
use crate::record::{PictureDigest, Pixel, PortMap, Record};

/// A picture of a unit, with the ports on it that a test has to do with.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PortPicture {
    pub(super) digest: PictureDigest,
    /// The picture itself; none where it is not at hand.
    pub(super) file: Option<Picture>,
    /// In the order in which the ports are first come by.
    pub(super) marks: Vec<PortMark>,
}

impl PortPicture {
    /// Says which ports it has.
    pub(super) fn named(&self) -> String {
        let ports: Vec<_> = self.marks.iter().map(|mark| mark.port.as_str()).collect();
        format!("Ports on {}: {}.", self.digest.name, ports.join(", "))
    }
}

/// A port on a picture.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PortMark {
    pub(super) port: String,
    pub(super) at: Pixel,
    /// The circuits that are read there, each with what came out.
    pub(super) circuits: Vec<(String, Option<Verdict>)>,
}

/// A circuit that is read on a port, and what came out there; none where nothing has yet.
struct OnPort<'a> {
    port: &'a str,
    circuit: &'a str,
    verdict: Option<Verdict>,
}

/// Returns the pictures that a record's procedure has, with the ports that were read; those at hand are
/// given by their digests.
pub(super) fn port_pictures(record: &Record, held: &[(String, Picture)]) -> Vec<PortPicture> {
    let mut on_ports = Vec::new();
    for circuit in &record.circuits {
        for reading in circuit.counting() {
            let own = reading.own.port.as_deref();
            // What stands at the circuit's own port is what came out of the circuit.
            let verdict = if own.is_some() { Some(reading.verdict()) } else { circuit.verdict };
            let port = own.or(circuit.circuit.port.as_deref());
            on_ports.extend(port.map(|port| OnPort { port, circuit: &circuit.circuit.name, verdict }));
        }
    }
    let own = record.circuits.iter().filter_map(|circuit| circuit.circuit.map.as_ref());
    let maps = record.procedure.map.iter().chain(own).collect();
    let held = |digest: &PictureDigest| {
        held.iter().find(|(known, _)| *known == digest.sha256).map(|(_, picture)| picture.clone())
    };
    pictures(maps, &record.procedure.pictures, held, &on_ports)
}

/// Returns the pictures of a procedure with the ports that it reads, and its other pictures of circuits.
pub(crate) fn pictures_of(outline: &Outline, held: impl Fn(&str) -> Option<Picture>) -> Vec<PortPicture> {
    let circuits = outline.circuits.iter();
    let on_circuits =
        circuits.filter_map(|circuit| Some((circuit.port.as_deref()?, circuit.name.as_str(), None)));
    let readings = outline.readings.iter().filter(|reading| reading.is_apart);
    let on_readings =
        readings.filter_map(|reading| Some((reading.spot.port.as_deref()?, reading.circuit.as_str(), None)));
    let on_ports = on_circuits.chain(on_readings);
    let on_ports: Vec<_> =
        on_ports.map(|(port, circuit, verdict)| OnPort { port, circuit, verdict }).collect();
    let own = outline.circuits.iter().filter_map(|circuit| circuit.map.as_ref());
    let maps = outline.title.map.iter().chain(own).collect();
    pictures(maps, &outline.pictures, |digest| held(&digest.name), &on_ports)
}

fn pictures(
    maps: Vec<&PortMap>,
    digests: &[PictureDigest],
    held: impl Fn(&PictureDigest) -> Option<Picture>,
    on_ports: &[OnPort<'_>],
) -> Vec<PortPicture> {
    let mut ports: Vec<&str> = Vec::new();
    on_ports.iter().for_each(|on| {
        if !ports.contains(&on.port) {
            ports.push(on.port)
        }
    });
    let mut names: Vec<&str> = Vec::new();
    maps.iter().for_each(|map| {
        if !names.contains(&map.picture.as_str()) {
            names.push(&map.picture)
        }
    });
    let made = names.into_iter().filter_map(|name| {
        let digest = digests.iter().find(|digest| digest.name == name)?;
        let place = |port: &str| {
            maps.iter().filter(|map| map.picture == name).find_map(|map| map.ports.get(port)).copied()
        };
        let marks = ports.iter().filter_map(|port| {
            let mut circuits: Vec<(String, Option<Verdict>)> = Vec::new();
            for on in on_ports.iter().filter(|on| on.port == *port) {
                let told = (on.circuit.to_owned(), on.verdict);
                if !circuits.contains(&told) {
                    circuits.push(told);
                }
            }
            Some(PortMark { port: (*port).to_owned(), at: place(port)?, circuits })
        });
        let marks: Vec<_> = marks.collect();
        Some(PortPicture { digest: digest.clone(), file: held(digest), marks })
    });
    made.filter(|picture| !picture.marks.is_empty()).collect()
}

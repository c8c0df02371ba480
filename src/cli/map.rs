use std::collections::BTreeMap;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;

use super::arguments::{compile, name_of, outline};
use super::page::PageArguments;
use super::status::{Failure, Outcome, Status};
use crate::console::Screen;
use crate::disk::{self, LARGEST_SETTINGS, read_text, write_new, write_whole};
use crate::draft::{with_picture, with_ports};
use crate::page::{Board, Heading, PictureSight, State};
use crate::picture::{BadPicture, DRAWING, PHOTO, Picture};
use crate::procedure::{Aside, Outline, Program, Source, is_picture_name};
use crate::record::Pixel;
use crate::session::{Enter, Plain, Prompt, Said, Saying, Stopped, screens};

/// Say where the ports of a procedure lie on its picture, by clicking them in a browser.
///
/// Asks for each port that the procedure reads; a click on the picture answers, and so do the pixels from the left and
/// from the top, typed as in 412 230. Each is written into the procedure's file as it is said, and nothing else of that
/// changes. The picture is the one that the file names, or comes with --picture.
#[derive(Debug, Args)]
pub(super) struct MapCommand {
    /// File of the procedure
    procedure: PathBuf,
    /// Take this PNG or JPEG for the picture of the unit: it is copied beside the procedure, whose name it gets; one
    /// with Exif upright and without that, one that is too large smaller
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    #[command(flatten)]
    page: PageArguments,
}

impl MapCommand {
    pub(super) fn run(self) -> Outcome {
        let path = &self.procedure;
        let before = read_text(path, LARGEST_SETTINGS).map_err(|error| match name_of(path) {
            Some(name) if error.kind() == ErrorKind::NotFound => Failure::wrong(format!(
                "there is no file {name}, and map writes into a procedure's own file; copy one that goes by this name first: \
                 spoolproof draft --from {name}"
            )),
            _ => Failure::file(path, &error),
        })?;
        let source = Source::from_path(path).map_err(|fault| Failure::wrong(fault.render(None)))?;
        let source = source.shown_in(path.parent().unwrap_or(Path::new("")));
        let source = match &self.picture {
            None => source,
            Some(picture) => taking(picture, path, &source)?,
        };
        let program = compile(source)?;
        let Some((name, picture)) = mapped(&program) else {
            return Err(Failure::not_in_order(format!(
                "{} names no picture of its unit; give one with --picture FILE, a PNG or JPEG",
                path.display()
            )));
        };
        let ports = ports(outline(&program)?);
        if ports.is_empty() {
            return Err(Failure::not_in_order("no circuit says on which port it is read: port: \"3A\""));
        }
        let (mut prompt, page) = self.page.for_clicks()?;
        page.board().hold_picture(name, picture);
        page.board().show(|sight| {
            sight.heading = Heading { procedure: program.title.title.clone(), ..Heading::default() }
        });
        let mut places = program.title.map.as_ref().map(|map| map.ports.clone()).unwrap_or_default();
        let mut file = MapFile { path, program: &program, before, is_written: false };
        let asked = file.write(&places).and_then(|()| {
            let placing = Placing { prompt: &mut prompt, board: page.board(), name, picture, path };
            placing.ask(&ports, &mut places, |places| file.write(places))
        });
        page.board().close(State::Ended);
        let outcome = asked.map(|()| file.told());
        page.close(&outcome);
        outcome
    }
}

/// Copies a picture beside a procedure, under its name, and returns the procedure with it.
fn taking(picture: &Path, procedure: &Path, source: &Source) -> Result<Source, Failure> {
    let not_taken = |why: BadPicture| Failure::wrong(why.of_photo(&picture.display().to_string()));
    let taken = Picture::read_bytes(picture, PHOTO).and_then(Picture::of_unit).map_err(not_taken)?;
    let beside = procedure.with_extension(taken.kind.ending());
    let name = beside.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let text = with_picture(&source.files[0].text, &name).filter(|_| is_picture_name(&name));
    let Some(text) = text else {
        return Err(Failure::not_in_order(
            "the picture can't be named in what the procedure declares; write it there yourself: picture: \"lower-body.png\"",
        ));
    };
    if !copied_to(&beside, &taken)? {
        return Err(Failure::wrong(format!(
            "{} is there already and is another picture; move it away first",
            beside.display()
        )));
    }
    source
        .reworded(&text, [(name, taken.bytes().to_vec())])
        .map_err(|fault| Failure::wrong(fault.render(None)))
}

/// Writes a picture into a file; returns false where another one is there, which is not written over.
pub(super) fn copied_to(path: &Path, picture: &Picture) -> Result<bool, Failure> {
    match write_new(path, picture.bytes(), None) {
        Err(error) if error.kind() == ErrorKind::AlreadyExists => {
            Ok(disk::read(path, DRAWING.bytes).ok().as_deref() == Some(picture.bytes()))
        }
        written => written.map(|()| true).map_err(|error| Failure::file(path, &error)),
    }
}

/// The picture of the unit, with its name.
fn mapped(program: &Program) -> Option<(&str, &Picture)> {
    let name = &program.title.map.as_ref()?.picture;
    Some((name, program.source.picture(name)?))
}

/// The ports that a procedure reads, each with what is read there.
fn ports(outline: &Outline) -> Vec<(String, String)> {
    let circuits =
        outline.circuits.iter().filter_map(|circuit| Some((circuit.port.clone()?, circuit.name.clone())));
    let readings = outline.readings.iter().filter(|reading| reading.is_apart);
    let readings = readings.filter_map(|reading| {
        Some((reading.spot.port.clone()?, format!("{}, {}", reading.circuit, reading.label)))
    });
    let mut ports: Vec<(String, String)> = Vec::new();
    for (port, what) in circuits.chain(readings) {
        if !ports.iter().any(|(known, _)| *known == port) {
            ports.push((port, what));
        }
    }
    ports
}

/// Where ports are asked for: on a picture in a browser, and at the terminal.
struct Placing<'a> {
    prompt: &'a mut Prompt,
    board: &'a Arc<Board>,
    name: &'a str,
    picture: &'a Picture,
    /// The procedure's file.
    path: &'a Path,
}

impl Placing<'_> {
    /// Asks where each port lies, and then whether that is all; places said stand in `places`, and each is kept before
    /// anything else is asked.
    fn ask(
        mut self,
        ports: &[(String, String)],
        places: &mut BTreeMap<String, Pixel>,
        mut keep: impl FnMut(&BTreeMap<String, Pixel>) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        let mut next = 0;
        loop {
            let port = ports.get(next);
            let said = match port {
                Some((port, what)) => self.ask_for(port, what, places),
                None => self.ask_whether_all(ports, places),
            };
            let said = match said {
                Err(Stopped::Failed(why)) => return Err(Failure::wrong(why)),
                Err(Stopped::Left | Stopped::Ended) => return Ok(()),
                Ok(said) => said,
            };
            match (said, port) {
                (Said::Enter, None) => return Ok(()),
                (Said::Enter, Some(_)) => next += 1,
                (Said::Answer(at), Some((port, _))) => {
                    places.insert(port.clone(), at);
                    keep(places)?;
                    next += 1;
                }
                // A click when all are placed is about the last one.
                (Said::Answer(_), None) => next = next.saturating_sub(1),
                (Said::Word(Saying::Aside(Aside::Back(n))), _) => next = next.saturating_sub(n),
                (Said::Word(_), _) => {}
            }
        }
    }

    fn ask_for(
        &mut self,
        port: &str,
        what: &str,
        places: &BTreeMap<String, Pixel>,
    ) -> Result<Said<Pixel>, Stopped> {
        let known = places.get(port).map(|Pixel { x, y }| format!("{x} {y}"));
        self.put(places, Some(port), &Plain {
            words: &format!(
                "Click port {port} ({what}) on the picture. Or type its pixels from the left and from the top, as in 412 230"
            ),
            enter: known.as_deref().map_or(Enter::Takes("this port later"), Enter::Takes),
            help: "The picture stands in the browser. Each place is written into the file as it is said. Enter takes what stands \
                   in brackets.",
        })
    }

    fn ask_whether_all(
        &mut self,
        ports: &[(String, String)],
        places: &BTreeMap<String, Pixel>,
    ) -> Result<Said<Pixel>, Stopped> {
        let missing = ports.iter().map(|(port, _)| port.as_str()).filter(|port| !places.contains_key(*port));
        let missing: Vec<&str> = missing.collect();
        let state = match missing.as_slice() {
            [] => format!("All ports are placed and written into {}.", self.path.display()),
            missing => format!("Not placed yet: {}.", missing.join(", ")),
        };
        self.put(
            places,
            None,
            &Plain {
                words: &format!("{state} Enter ends; back, or a click, asks for the last port again"),
                enter: Enter::Takes("the places as they are"),
                help: "The picture in the browser shows each port that has a place.",
            },
        )
    }

    /// Puts a question beside the picture, with the port that it is about.
    fn put(
        &mut self,
        places: &BTreeMap<String, Pixel>,
        port: Option<&str>,
        question: &Plain<'_>,
    ) -> Result<Said<Pixel>, Stopped> {
        let Placing { name, picture, .. } = *self;
        let ground = self.board.ground(name);
        let shown = ground.iter().map(|ground| PictureSight::of(name, ground, places, port, true));
        self.board.show(|sight| sight.pictures = shown.collect());
        let others = [
            ("back", "ask for the port before again"),
            ("park", "stop here; what was said stands in the file"),
        ];
        self.prompt.ask_plainly(question, &others, |typed| place(typed, picture))
    }
}

/// Reads a place on a picture: pixels from the left and from the top.
fn place(typed: &str, picture: &Picture) -> Result<Pixel, String> {
    let mut numbers = typed.split([' ', ',', ';']).filter(|part| !part.is_empty()).map(str::parse::<u32>);
    let (Some(Ok(x)), Some(Ok(y)), None) = (numbers.next(), numbers.next(), numbers.next()) else {
        return Err(
            "A place is two whole numbers, pixels from the left and from the top, as in 412 230.".to_owned()
        );
    };
    if x >= picture.width || y >= picture.height {
        let (right, low) = (picture.width - 1, picture.height - 1);
        return Err(format!("That is outside of the picture: its places go from 0 0 to {right} {low}."));
    }
    Ok(Pixel { x, y })
}

/// The procedure's file, into which places are written as they are said.
struct MapFile<'a> {
    path: &'a Path,
    program: &'a Program,
    /// What stands in it, as far as this knows.
    before: String,
    is_written: bool,
}

impl MapFile<'_> {
    /// Writes the places, where what stands in the file has others. Whoever has edited it meanwhile
    /// is not written over.
    fn write(&mut self, places: &BTreeMap<String, Pixel>) -> Result<(), Failure> {
        let text = &self.program.source.files[0].text;
        let is_as_begun = self.program.title.map.as_ref().is_some_and(|map| map.ports == *places);
        let written = match is_as_begun {
            true => Some(text.clone()),
            false => with_ports(text, places).filter(|text| says(self.program, text, places)),
        };
        let by_hand = |why: &str| {
            let listed: Vec<_> =
                places.iter().map(|(port, Pixel { x, y })| format!("\"{port}\": [{x}, {y}]")).collect();
            Failure::not_in_order(format!(
                "{why}. It was left as it is; put this behind the name of the picture yourself:\nports: #{{ {} }},",
                listed.join(", ")
            ))
        };
        let Some(text) = written else {
            return Err(by_hand("what the procedure declares is written in a way that this can't add to"));
        };
        let mark = if self.before.starts_with('\u{FEFF}') { "\u{FEFF}" } else { "" };
        let text = format!("{mark}{text}");
        if text == self.before {
            return Ok(());
        }
        if read_text(self.path, LARGEST_SETTINGS).ok().as_ref() != Some(&self.before) {
            return Err(by_hand(&format!("{} was changed meanwhile", self.path.display())));
        }
        write_whole(self.path, text.as_bytes()).map_err(|error| Failure::file(self.path, &error))?;
        (self.before, self.is_written) = (text, true);
        Ok(())
    }

    /// Says what was written.
    fn told(&self) -> Status {
        let mut screen = Screen::stdout();
        match self.is_written {
            false => screen.line("Nothing was changed."),
            true => screen.paragraph(
                screens::INDENT,
                &format!("Written: {}. Raise its version where others use it.", self.path.display()),
            ),
        }
        Status::Done
    }
}

/// Returns whether a text declares just these places, and is otherwise as good as before.
fn says(program: &Program, text: &str, places: &BTreeMap<String, Pixel>) -> bool {
    let source = program.source.reworded(text, None);
    let again = source.ok().and_then(|source| Program::compile(source).ok());
    again.and_then(|again| again.title.map).is_some_and(|map| map.ports == *places)
}

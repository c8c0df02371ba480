//! The invented bodies of the shipped procedures: where their bores lie, and where on these their ports are.

use super::canvas::{Canvas, PALE, PAPER, width_of};

type At = (f64, f64);

/// A body: bores side by side with passages between them, in a casting with bolt holes.
pub(super) struct Body {
    /// The procedure's name, and the picture's.
    pub(super) id: &'static str,
    title: &'static str,
    size: (usize, usize),
    /// Whether its bores stand upright; else they lie.
    is_upright: bool,
    outline: &'static [At],
    bolts: &'static [At],
    bores: &'static [Bore],
    /// Passages that join places, as lines with corners.
    passages: &'static [&'static [At]],
}

/// A bore with its valve, from the end that its plug closes.
struct Bore {
    /// Where its plug is, and how long it is.
    from: At,
    length: f64,
    /// The lands of its valve: where along the bore each begins and how long it is.
    lands: &'static [(f64, f64)],
    /// The ports over it, each with how far along the bore it is.
    ports: &'static [(&'static str, f64)],
}

/// Half of a bore's width, and the radius of a port.
const HALF: f64 = 21.0;
const PORT: f64 = 10.0;
/// How high the letters of a port's name are.
const NAME: f64 = 17.0;

impl Body {
    /// Draws it.
    pub(super) fn drawn(&self) -> Canvas {
        let mut canvas = Canvas::new(self.size.0, self.size.1);
        canvas.outline(self.outline, 5.0);
        for passage in self.passages {
            canvas.line(passage, 15.0);
        }
        for passage in self.passages {
            canvas.lighten(passage, 10.0);
        }
        for bolt in self.bolts {
            canvas.hole(*bolt, 14.0, 2.5);
            canvas.hole(*bolt, 7.0, 2.5);
        }
        self.bores.iter().for_each(|bore| self.bore(&mut canvas, bore));
        for (port, at) in self.ports() {
            canvas.hole(at, PORT, 3.5);
            canvas.write(self.beside(at), NAME, port);
        }
        let (width, height) = (self.size.0 as f64, self.size.1 as f64);
        canvas.write((26.0, 18.0), 17.0, self.title);
        canvas.write((26.0, height - 33.0), 13.0, "INVENTED, NOT TO SCALE, SEEN FROM THE PLATE SIDE");
        canvas.write((width - 118.0, height - 35.0), 15.0, "FRONT");
        canvas.line(&[(width - 48.0, height - 27.0), (width - 18.0, height - 27.0)], 3.0);
        canvas.line(
            &[(width - 28.0, height - 34.0), (width - 18.0, height - 27.0), (width - 28.0, height - 20.0)],
            3.0,
        );
        canvas
    }

    /// Returns the ports, each with where it is.
    pub(super) fn ports(&self) -> Vec<(&'static str, At)> {
        let on = |bore: &Bore, along: f64| self.along(bore, along, 0.0);
        self.bores
            .iter()
            .flat_map(|bore| bore.ports.iter().map(move |(port, along)| (*port, on(bore, *along))))
            .collect()
    }

    /// Returns where the name of a port begins, with its upper left corner.
    fn beside(&self, (x, y): At) -> At {
        if self.is_upright { (x + 28.0, y - 8.0) } else { (x - 14.0, y + 28.0) }
    }

    /// Returns what the names of the ports cover: from the upper left corner to the lower right one.
    pub(super) fn names(&self) -> Vec<(At, At)> {
        let covered = |(port, at): (&str, At)| {
            let (x, y) = self.beside(at);
            ((x, y), (x + width_of(port, NAME), y + NAME))
        };
        self.ports().into_iter().map(covered).collect()
    }

    /// Returns a place by how far along a bore it is, and how far beside its middle.
    fn along(&self, bore: &Bore, along: f64, beside: f64) -> At {
        let (x, y) = bore.from;
        if self.is_upright { (x + beside, y + along) } else { (x + along, y + beside) }
    }

    fn bore(&self, canvas: &mut Canvas, bore: &Bore) {
        let between = |from: (f64, f64), to: (f64, f64)| {
            (self.along(bore, from.0, -from.1), self.along(bore, to.0, to.1))
        };
        let (from, to) = between((0.0, HALF), (bore.length, HALF));
        canvas.rectangle(from, to, PAPER);
        // The plug at its end, and the stem that joins the lands.
        let (from, to) = between((6.0, HALF), (26.0, HALF));
        canvas.rectangle(from, to, PALE);
        let first = bore.lands.first().map_or(0.0, |land| land.0);
        let last = bore.lands.last().map_or(0.0, |land| land.0);
        let (from, to) = between((first, 6.0), (last, 6.0));
        canvas.rectangle(from, to, PAPER);
        for (at, length) in bore.lands {
            let (from, to) = between((*at, HALF - 2.0), (at + length, HALF - 2.0));
            canvas.rectangle(from, to, PALE);
        }
        // The spring between plug and valve.
        let n_turns = ((first - 30.0) / 7.0) as usize;
        let turn = |n: usize| {
            self.along(
                bore,
                30.0 + 7.0 * n as f64,
                if n.is_multiple_of(2) { -HALF + 6.0 } else { HALF - 6.0 },
            )
        };
        canvas.line(&(0..=n_turns).map(turn).collect::<Vec<_>>(), 2.0);
    }
}

pub(super) const BODIES: [Body; 2] = [
    Body {
        id: "osier-o7-rear",
        title: "OSIER O7, REAR CONTROL BODY",
        size: (1000, 690),
        is_upright: false,
        outline: &[
            (60.0, 60.0),
            (420.0, 60.0),
            (440.0, 76.0),
            (560.0, 76.0),
            (580.0, 60.0),
            (930.0, 60.0),
            (962.0, 92.0),
            (962.0, 330.0),
            (946.0, 350.0),
            (946.0, 430.0),
            (962.0, 450.0),
            (962.0, 600.0),
            (930.0, 632.0),
            (580.0, 632.0),
            (560.0, 616.0),
            (440.0, 616.0),
            (420.0, 632.0),
            (60.0, 632.0),
            (36.0, 604.0),
            (36.0, 92.0),
        ],
        bolts: &[
            (64.0, 88.0),
            (500.0, 104.0),
            (934.0, 88.0),
            (64.0, 346.0),
            (500.0, 300.0),
            (920.0, 390.0),
            (64.0, 604.0),
            (500.0, 588.0),
            (934.0, 604.0),
            (500.0, 446.0),
        ],
        bores: &[
            Bore {
                from: (100.0, 110.0),
                length: 350.0,
                lands: &[(120.0, 46.0), (196.0, 40.0), (276.0, 52.0)],
                ports: &[("L1", 252.0)],
            },
            Bore {
                from: (550.0, 110.0),
                length: 340.0,
                lands: &[(96.0, 60.0), (236.0, 70.0)],
                ports: &[("L3", 196.0)],
            },
            Bore {
                from: (100.0, 200.0),
                length: 330.0,
                lands: &[(90.0, 56.0), (210.0, 62.0)],
                ports: &[("L4", 178.0)],
            },
            Bore {
                from: (550.0, 200.0),
                length: 360.0,
                lands: &[(130.0, 40.0), (214.0, 40.0), (298.0, 44.0)],
                ports: &[("R1", 192.0)],
            },
            Bore {
                from: (110.0, 290.0),
                length: 340.0,
                lands: &[(110.0, 44.0), (250.0, 60.0)],
                ports: &[("Q2", 202.0)],
            },
            Bore {
                from: (550.0, 290.0),
                length: 350.0,
                lands: &[(104.0, 48.0), (196.0, 36.0), (276.0, 52.0)],
                ports: &[("G1", 174.0)],
            },
            Bore {
                from: (110.0, 390.0),
                length: 350.0,
                lands: &[(120.0, 36.0), (200.0, 36.0), (290.0, 44.0)],
                ports: &[("X1", 178.0), ("X2", 263.0)],
            },
            Bore {
                from: (550.0, 390.0),
                length: 320.0,
                lands: &[(100.0, 56.0), (230.0, 62.0)],
                ports: &[("W1", 192.0)],
            },
            Bore {
                from: (100.0, 480.0),
                length: 360.0,
                lands: &[(118.0, 40.0), (204.0, 40.0), (298.0, 44.0)],
                ports: &[("C1", 180.0)],
            },
            Bore {
                from: (550.0, 480.0),
                length: 330.0,
                lands: &[(140.0, 30.0), (250.0, 60.0)],
                ports: &[("C4", 210.0)],
            },
            Bore { from: (100.0, 562.0), length: 340.0, lands: &[(110.0, 120.0)], ports: &[("K1", 270.0)] },
            Bore {
                from: (560.0, 562.0),
                length: 330.0,
                lands: &[(60.0, 34.0), (130.0, 34.0), (200.0, 34.0), (280.0, 40.0)],
                ports: &[("S1", 182.0)],
            },
        ],
        passages: &[
            &[(352.0, 110.0), (352.0, 155.0), (278.0, 155.0), (278.0, 200.0)],
            &[(746.0, 110.0), (746.0, 155.0), (742.0, 155.0), (742.0, 200.0)],
            &[(278.0, 200.0), (278.0, 245.0), (312.0, 245.0), (312.0, 290.0)],
            &[(826.0, 200.0), (826.0, 245.0), (804.0, 245.0), (804.0, 290.0)],
            &[(724.0, 290.0), (724.0, 340.0), (742.0, 340.0), (742.0, 390.0)],
            &[(312.0, 290.0), (312.0, 340.0), (288.0, 340.0), (288.0, 390.0)],
            &[(373.0, 390.0), (373.0, 435.0), (371.0, 435.0), (371.0, 480.0)],
            &[(280.0, 480.0), (280.0, 525.0), (370.0, 525.0), (370.0, 562.0)],
            &[(760.0, 480.0), (760.0, 525.0), (742.0, 525.0), (742.0, 562.0)],
        ],
    },
    Body {
        id: "corrie-c4-main",
        title: "CORRIE C4, MAIN CONTROL BODY",
        size: (960, 720),
        is_upright: true,
        outline: &[
            (70.0, 64.0),
            (890.0, 64.0),
            (920.0, 100.0),
            (920.0, 300.0),
            (896.0, 324.0),
            (896.0, 470.0),
            (920.0, 494.0),
            (920.0, 630.0),
            (888.0, 664.0),
            (540.0, 664.0),
            (520.0, 648.0),
            (440.0, 648.0),
            (420.0, 664.0),
            (72.0, 664.0),
            (40.0, 630.0),
            (40.0, 420.0),
            (62.0, 396.0),
            (62.0, 330.0),
            (40.0, 306.0),
            (40.0, 96.0),
        ],
        bolts: &[
            (72.0, 96.0),
            (480.0, 96.0),
            (888.0, 96.0),
            (84.0, 362.0),
            (876.0, 396.0),
            (72.0, 630.0),
            (480.0, 620.0),
            (888.0, 630.0),
        ],
        bores: &[
            Bore {
                from: (130.0, 86.0),
                length: 250.0,
                lands: &[(90.0, 36.0), (160.0, 30.0), (216.0, 28.0)],
                ports: &[("A1", 143.0)],
            },
            Bore {
                from: (240.0, 86.0),
                length: 230.0,
                lands: &[(80.0, 40.0), (178.0, 40.0)],
                ports: &[("A3", 149.0)],
            },
            Bore {
                from: (350.0, 86.0),
                length: 240.0,
                lands: &[(84.0, 36.0), (176.0, 40.0)],
                ports: &[("A4", 148.0)],
            },
            Bore {
                from: (590.0, 86.0),
                length: 230.0,
                lands: &[(70.0, 40.0), (176.0, 36.0)],
                ports: &[("A6", 143.0)],
            },
            Bore {
                from: (700.0, 86.0),
                length: 260.0,
                lands: &[(84.0, 30.0), (150.0, 26.0), (216.0, 28.0)],
                ports: &[("B1", 132.0), ("B2", 196.0)],
            },
            Bore {
                from: (820.0, 86.0),
                length: 260.0,
                lands: &[(84.0, 30.0), (150.0, 26.0), (216.0, 28.0)],
                ports: &[("B3", 132.0), ("B4", 196.0)],
            },
            Bore {
                from: (130.0, 400.0),
                length: 240.0,
                lands: &[(84.0, 30.0), (150.0, 26.0), (206.0, 26.0)],
                ports: &[("B5", 132.0), ("B6", 191.0)],
            },
            Bore {
                from: (240.0, 400.0),
                length: 240.0,
                lands: &[(76.0, 36.0), (170.0, 44.0)],
                ports: &[("C1", 141.0)],
            },
            Bore { from: (350.0, 400.0), length: 220.0, lands: &[(74.0, 70.0)], ports: &[("D1", 176.0)] },
            Bore { from: (590.0, 400.0), length: 220.0, lands: &[(74.0, 70.0)], ports: &[("D2", 176.0)] },
            Bore {
                from: (700.0, 400.0),
                length: 236.0,
                lands: &[(90.0, 26.0), (176.0, 40.0)],
                ports: &[("D4", 146.0)],
            },
            Bore {
                from: (810.0, 400.0),
                length: 240.0,
                lands: &[(46.0, 26.0), (104.0, 26.0), (160.0, 26.0), (208.0, 26.0)],
                ports: &[("E1", 145.0)],
            },
        ],
        passages: &[
            &[(130.0, 229.0), (185.0, 229.0), (185.0, 235.0), (240.0, 235.0)],
            &[(240.0, 235.0), (295.0, 235.0), (295.0, 234.0), (350.0, 234.0)],
            &[(350.0, 234.0), (470.0, 234.0), (470.0, 229.0), (590.0, 229.0)],
            &[(700.0, 282.0), (760.0, 282.0), (760.0, 218.0), (820.0, 218.0)],
            &[(130.0, 532.0), (185.0, 532.0), (185.0, 541.0), (240.0, 541.0)],
            &[(350.0, 576.0), (470.0, 576.0), (470.0, 520.0), (540.0, 520.0), (540.0, 576.0), (590.0, 576.0)],
            &[(700.0, 546.0), (755.0, 546.0), (755.0, 545.0), (810.0, 545.0)],
        ],
    },
];

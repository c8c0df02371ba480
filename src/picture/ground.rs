use super::tag::{Area, OnPicture};
use super::{DRAWING, Picture};

/// What rings and names are put on: a picture in a drawing of its own size or another, and how much of it is where, so
/// that what is printed there stays to be read.
#[derive(Debug, Clone)]
pub(crate) struct Ground {
    size: OnPicture,
    /// Units of the drawing to a cell.
    cell: f64,
    /// Cells in a row, and rows.
    cells: (usize, usize),
    /// Pixels at which light and dark meet, in all cells above and left of each corner of one, row by row.
    edges: Vec<u32>,
}

/// Pixels to a side of a cell.
const CELL: usize = 4;

/// By how much the brightness of two pixels differs where an edge is between them, of 255.
const EDGE: u8 = 40;

impl Ground {
    /// Makes one on which there is nothing.
    pub(crate) fn blank(size: OnPicture) -> Ground {
        Ground { size, cell: 1.0, cells: (0, 0), edges: vec![0] }
    }

    /// Looks at a picture; one that can't be decoded is taken for blank.
    pub(crate) fn of(picture: &Picture) -> Ground {
        let size = (f64::from(picture.width), f64::from(picture.height));
        let Ok((_, pixels)) = Picture::decoded(picture.bytes().to_vec(), DRAWING) else {
            return Ground::blank(size);
        };
        let (width, height) = (pixels.width as usize, pixels.height as usize);
        let bright: Vec<u8> = pixels.rgb.chunks_exact(3).map(brightness).collect();
        let cells = (width.div_ceil(CELL), height.div_ceil(CELL));
        let mut counts = vec![0; cells.0 * cells.1];
        for (at, here) in bright.iter().enumerate() {
            let (x, y) = (at % width, at / width);
            let is_edge = |other: usize| bright.get(other).is_some_and(|other| other.abs_diff(*here) > EDGE);
            if (x + 1 < width && is_edge(at + 1)) || is_edge(at + width) {
                counts[y / CELL * cells.0 + x / CELL] += 1;
            }
        }
        Ground { size, cell: CELL as f64, cells, edges: sums(&counts, cells) }
    }

    /// Returns it in a drawing of another width.
    pub(crate) fn scaled_to(mut self, width: f64) -> Ground {
        let scale = width / self.size.0;
        self.cell *= scale;
        self.size = (width, self.size.1 * scale);
        self
    }

    pub(crate) fn size(&self) -> OnPicture {
        self.size
    }

    /// Returns the radius of a ring around a port: hardly more than what is drawn for one, so that the name printed
    /// beside it stays to be read.
    pub(crate) fn ring(&self) -> f64 {
        self.size.0.max(self.size.1) * 0.017
    }

    /// Returns how much of the picture lies in an area.
    pub(super) fn under(&self, area: &Area) -> u32 {
        let cell = |at: f64, most: usize| (at / self.cell).clamp(0.0, most as f64);
        let (wide, high) = self.cells;
        let [left, top] = [cell(area.left, wide), cell(area.top, high)].map(|at| at.floor() as usize);
        let [right, bottom] = [cell(area.right, wide), cell(area.bottom, high)].map(|at| at.ceil() as usize);
        let above = |x: usize, y: usize| self.edges[y * (wide + 1) + x];
        above(right, bottom) + above(left, top) - above(left, bottom) - above(right, top)
    }
}

fn brightness(rgb: &[u8]) -> u8 {
    // The shares of ITU-R BT.601, in 256ths.
    let sum: u32 = rgb.iter().zip([77, 150, 29]).map(|(part, share)| u32::from(*part) * share).sum();
    u8::try_from(sum / 256).unwrap_or(u8::MAX)
}

/// Sums counts of cells over all cells above and left of each corner.
fn sums(counts: &[u32], (wide, high): (usize, usize)) -> Vec<u32> {
    let mut sums = vec![0; (wide + 1) * (high + 1)];
    for y in 0..high {
        let mut row = 0;
        for x in 0..wide {
            row += counts[y * wide + x];
            sums[(y + 1) * (wide + 1) + x + 1] = sums[y * (wide + 1) + x + 1] + row;
        }
    }
    sums
}

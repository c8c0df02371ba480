use super::summary::{mean, sum};

/// The readings of each part (a row) by each operator; empty where there are none.
pub(crate) type Cells = Vec<Vec<Vec<f64>>>;

/// What columns of cells explain beyond what the rows do, by least squares: Henderson's method 3 (1953).
pub(super) struct Adjusted {
    /// The squares that the columns explain beyond the rows.
    pub(super) squares: f64,
    /// How often their expected value holds the variance of a column.
    pub(super) own: f64,
    /// How often it holds the variance of a cell.
    pub(super) cells_in_own: f64,
    /// How often the expected squares of the rows alone, about 0, hold the variance of a cell.
    pub(super) cells_in_others: f64,
    /// What each column adds, less the mean of what all do.
    pub(super) effects: Vec<f64>,
}

impl Adjusted {
    /// Fits rows, then columns; none where the columns fall into groups that no row connects.
    pub(super) fn of(cells: &Cells) -> Option<Adjusted> {
        let n_columns = cells[0].len();
        let number = |values: &Vec<f64>| values.len() as f64;
        // The rows are taken out: what is left of each column's number and sum of readings.
        let mut normal = vec![vec![0.0; n_columns]; n_columns];
        let mut right = vec![0.0; n_columns];
        let mut cells_in_others = 0.0;
        for row in cells.iter().filter(|row| row.iter().any(|values| !values.is_empty())) {
            let values = row.concat();
            let (n_row, of_row) = (number(&values), mean(&values));
            for (j, cell) in row.iter().enumerate() {
                normal[j][j] += number(cell);
                right[j] += sum(cell.iter().map(|value| value - of_row));
                cells_in_others += number(cell).powi(2) / n_row;
                for (k, other) in row.iter().enumerate() {
                    normal[j][k] -= number(cell) * number(other) / n_row;
                }
            }
        }
        let own = (0..n_columns).map(|j| normal[j][j]).sum();
        // The columns' effects are known but for a constant: the last is taken for 0.
        let n_free = n_columns - 1;
        let root = lower_root(&normal, n_free)?;
        let reduced = forward(&root, &right[..n_free]);
        let mut effects = backward(&root, &reduced);
        effects.push(0.0);
        let of_all = mean(&effects);
        effects.iter_mut().for_each(|effect| *effect -= of_all);
        let mut cells_in_own = 0.0;
        for row in cells {
            let n_row: f64 = row.iter().map(number).sum();
            for (j, cell) in row.iter().enumerate().filter(|(_, cell)| !cell.is_empty()) {
                let column =
                    |k: usize| number(cell) * (f64::from(u8::from(k == j)) - number(&row[k]) / n_row);
                let column: Vec<f64> = (0..n_free).map(column).collect();
                cells_in_own += forward(&root, &column).iter().map(|value| value * value).sum::<f64>();
            }
        }
        let squares = reduced.iter().map(|value| value * value).sum();
        Some(Adjusted { squares, own, cells_in_own, cells_in_others, effects })
    }
}

/// The lower triangle L of the first `n` rows and columns of a symmetric matrix, L Lᵀ (Cholesky);
/// none of a singular one.
fn lower_root(matrix: &[Vec<f64>], n: usize) -> Option<Vec<Vec<f64>>> {
    let mut root = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let known: f64 = (0..j).map(|k| root[i][k] * root[j][k]).sum();
            let left = matrix[i][j] - known;
            root[i][j] = if i > j {
                left / root[j][j]
            } else if left > 1e-9 {
                left.sqrt()
            } else {
                return None;
            };
        }
    }
    Some(root)
}

/// Solves L x = right.
fn forward(root: &[Vec<f64>], right: &[f64]) -> Vec<f64> {
    let mut x = vec![0.0; right.len()];
    for i in 0..right.len() {
        let known: f64 = (0..i).map(|k| root[i][k] * x[k]).sum();
        x[i] = (right[i] - known) / root[i][i];
    }
    x
}

/// Solves Lᵀ x = right.
fn backward(root: &[Vec<f64>], right: &[f64]) -> Vec<f64> {
    let mut x = vec![0.0; right.len()];
    for i in (0..right.len()).rev() {
        let known: f64 = (i + 1..right.len()).map(|k| root[k][i] * x[k]).sum();
        x[i] = (right[i] - known) / root[i][i];
    }
    x
}

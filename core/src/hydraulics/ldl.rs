//! Sparse LDLᵀ of a symmetric positive definite matrix: the pattern once, the numbers as often as needed. It knows nothing of
//! hydraulics.

use super::ordering::minimum_degree;

/// The pattern of a factor: fixed by which unknowns are joined, whatever the numbers. Reused from solve to solve.
#[derive(Clone, Debug)]
pub(crate) struct Symbolic {
    /// Place in the order of elimination, by node.
    place_of_node: Vec<u32>,
    /// Where the entries below the diagonal of each column begin, by place; one more than places.
    column_start: Vec<u32>,
    /// Row of each entry, ascending within a column.
    row: Vec<u32>,
    /// Where the entries left of the diagonal of each row begin.
    row_start: Vec<u32>,
    /// Column of each entry by rows, ascending within a row.
    column: Vec<u32>,
    /// Which entry by columns each entry by rows is.
    by_column: Vec<u32>,
}

// Proof for all indices of this file: the lists are built together in `Symbolic::new`. A row or column number is a place below
// the number of nodes; starts ascend and end at the number of entries; `by_column` is a permutation of the entries.
// `Numeric::fit` makes every list of numbers as long as the pattern says.

impl Symbolic {
    /// Orders the unknowns and finds the pattern of the factor. A pair out of range or of one node is ignored.
    pub fn new(num_nodes: usize, pairs: &[(usize, usize)]) -> Self {
        let elimination = minimum_degree(num_nodes, pairs);
        let mut place_of_node = vec![0_u32; num_nodes];
        for (place, node) in elimination.order.iter().enumerate() {
            place_of_node[*node as usize] = small(place);
        }
        let mut column_start = Vec::with_capacity(num_nodes + 1);
        let mut row: Vec<u32> = Vec::new();
        let mut num_in_row = vec![0_u32; num_nodes];
        column_start.push(0);
        for column in &elimination.columns {
            let start = row.len();
            row.extend(column.iter().map(|node| place_of_node[*node as usize]));
            row[start..].sort_unstable();
            for r in &row[start..] {
                num_in_row[*r as usize] += 1;
            }
            column_start.push(small(row.len()));
        }
        let mut row_start = Vec::with_capacity(num_nodes + 1);
        row_start.push(0);
        let mut total = 0;
        for count in &num_in_row {
            total += count;
            row_start.push(total);
        }
        let mut next = row_start.clone();
        let mut column = vec![0; row.len()];
        let mut by_column = vec![0; row.len()];
        for place in 0..elimination.columns.len() {
            for entry in column_start[place]..column_start[place + 1] {
                let slot = &mut next[row[entry as usize] as usize];
                column[*slot as usize] = small(place);
                by_column[*slot as usize] = entry;
                *slot += 1;
            }
        }
        Self {
            place_of_node,
            column_start,
            row,
            row_start,
            column,
            by_column,
        }
    }

    /// Number of unknowns.
    pub fn num_nodes(&self) -> usize {
        self.place_of_node.len()
    }

    /// Place of a node in the order of elimination.
    pub(crate) fn place(&self, node: usize) -> Option<u32> {
        self.place_of_node.get(node).copied()
    }

    /// The entry (by rows) that joins two places, if there is one.
    pub(crate) fn entry(&self, a: u32, b: u32) -> Option<u32> {
        let (row, column) = (a.max(b) as usize, a.min(b));
        let start = *self.row_start.get(row)? as usize;
        let end = *self.row_start.get(row + 1)? as usize;
        let found = self.column.get(start..end)?.binary_search(&column).ok()?;
        Some(small(start + found))
    }
}

/// Counts of unknowns stay far below 2³²; a plan holds 20 000 emitters.
fn small(index: usize) -> u32 {
    u32::try_from(index).unwrap_or(u32::MAX)
}

/// The numbers of a matrix and of its factor, in the order of elimination.
#[derive(Clone, Debug, Default)]
pub(crate) struct Numeric {
    /// Diagonal of the matrix.
    pub diagonal: Vec<f64>,
    /// Entries left of the diagonal, by rows, zero where the matrix has none.
    pub entries: Vec<f64>,
    factor: Vec<f64>,
    inverse: Vec<f64>,
    row_work: Vec<f64>,
}

impl Numeric {
    /// Makes every list as long as the pattern says.
    pub fn fit(&mut self, symbolic: &Symbolic) {
        let (n, entries) = (symbolic.num_nodes(), symbolic.row.len());
        for list in [&mut self.diagonal, &mut self.inverse, &mut self.row_work] {
            list.resize(n, 0.0);
        }
        for list in [&mut self.entries, &mut self.factor] {
            list.resize(entries, 0.0);
        }
    }

    /// Factors the matrix, row by row. The place of the first pivot that is not positive is the error: the matrix is not
    /// positive definite.
    pub fn factor(&mut self, symbolic: &Symbolic) -> Result<(), usize> {
        let work = &mut self.row_work;
        for k in 0..symbolic.num_nodes() {
            let entries = symbolic.row_start[k] as usize..symbolic.row_start[k + 1] as usize;
            let columns = &symbolic.column[entries.clone()];
            for (j, value) in columns.iter().zip(&self.entries[entries.clone()]) {
                work[*j as usize] = *value;
            }
            let mut pivot = self.diagonal[k];
            for (j, by_column) in columns.iter().zip(&symbolic.by_column[entries]) {
                let (j, by_column) = (*j as usize, *by_column as usize);
                let value = work[j];
                // Rows of column j above k are in the pattern of row k, because eliminating j joined them.
                let above = symbolic.column_start[j] as usize..by_column;
                for (i, l) in symbolic.row[above.clone()].iter().zip(&self.factor[above]) {
                    work[*i as usize] -= l * value;
                }
                let l = value * self.inverse[j];
                pivot -= l * value;
                self.factor[by_column] = l;
            }
            if pivot.is_nan() || pivot <= 0.0 || pivot.is_infinite() {
                return Err(k);
            }
            self.inverse[k] = 1.0 / pivot;
        }
        Ok(())
    }

    /// Solves for a right-hand side in place.
    pub fn solve(&self, symbolic: &Symbolic, x: &mut [f64]) {
        let n = symbolic.num_nodes().min(x.len());
        for j in 0..n {
            let column = symbolic.column_start[j] as usize..symbolic.column_start[j + 1] as usize;
            let value = x[j];
            for (i, l) in symbolic.row[column.clone()]
                .iter()
                .zip(&self.factor[column])
            {
                x[*i as usize] -= l * value;
            }
        }
        for j in (0..n).rev() {
            let column = symbolic.column_start[j] as usize..symbolic.column_start[j + 1] as usize;
            let mut value = x[j] * self.inverse[j];
            for (i, l) in symbolic.row[column.clone()]
                .iter()
                .zip(&self.factor[column])
            {
                value -= l * x[*i as usize];
            }
            x[j] = value;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A grid graph with unit conductances and a small pull to ground; a solution is checked by multiplying back.
    #[test]
    fn a_solved_grid_multiplies_back_to_its_right_hand_side() {
        let side = 12;
        let mut pairs = Vec::new();
        for i in 0..side {
            for j in 0..side {
                if i + 1 < side {
                    pairs.push((i * side + j, (i + 1) * side + j));
                }
                if j + 1 < side {
                    pairs.push((i * side + j, i * side + j + 1));
                }
            }
        }
        let n = side * side;
        let symbolic = Symbolic::new(n, &pairs);
        let mut numeric = Numeric::default();
        numeric.fit(&symbolic);
        numeric.diagonal.fill(0.01);
        let weight = |k: usize| 1.0 + (k % 7) as f64;
        for (k, (a, b)) in pairs.iter().enumerate() {
            let (a, b) = (symbolic.place(*a).unwrap(), symbolic.place(*b).unwrap());
            numeric.diagonal[a as usize] += weight(k);
            numeric.diagonal[b as usize] += weight(k);
            numeric.entries[symbolic.entry(a, b).unwrap() as usize] -= weight(k);
        }
        numeric.factor(&symbolic).unwrap();
        let rhs: Vec<f64> = (0..n).map(|i| (i as f64 * 0.37).sin()).collect();
        let mut x = rhs.clone();
        numeric.solve(&symbolic, &mut x);
        let mut back: Vec<f64> = x.iter().map(|x| 0.01 * x).collect();
        for (k, (a, b)) in pairs.iter().enumerate() {
            let a = symbolic.place(*a).unwrap() as usize;
            let b = symbolic.place(*b).unwrap() as usize;
            let flow = weight(k) * (x[a] - x[b]);
            back[a] += flow;
            back[b] -= flow;
        }
        for (found, wanted) in back.iter().zip(&rhs) {
            assert!((found - wanted).abs() < 1e-10);
        }
    }

    #[test]
    fn a_matrix_that_is_not_positive_definite_is_refused() {
        let symbolic = Symbolic::new(2, &[(0, 1)]);
        let mut numeric = Numeric::default();
        numeric.fit(&symbolic);
        numeric.diagonal.fill(1.0);
        numeric.entries.fill(-1.0);
        assert!(numeric.factor(&symbolic).is_err());
        numeric.diagonal.fill(f64::NAN);
        assert_eq!(numeric.factor(&symbolic), Err(0));
    }
}

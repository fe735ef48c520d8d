//! One measured field of many climate lines, packed as small as gives every value back exactly.

/// The values of one field, row by row.
#[derive(Clone, Debug, Default)]
pub(super) enum PackedColumn {
    /// No row has the field.
    #[default]
    Empty,
    /// Every value is a whole number of the field's steps; `ABSENT` where there is none.
    Small(Vec<i16>),
    /// Some value is not; not-a-number where there is none.
    Wide(Vec<f64>),
}

const ABSENT: i16 = i16::MIN;

/// The number of steps, if that gives the value back bit by bit.
fn packed(value: f64, steps: f64) -> Option<i16> {
    let n = (value * steps).round();
    let fits = n.abs() <= f64::from(i16::MAX);
    // In range and whole, so the cast is exact.
    let small = fits.then_some(n as i16)?;
    (unpacked(small, steps).to_bits() == value.to_bits()).then_some(small)
}

/// Division rounds correctly, so 2137 steps of a hundredth give the very number that `21.37` is read as.
fn unpacked(small: i16, steps: f64) -> f64 {
    f64::from(small) / steps
}

impl PackedColumn {
    /// Adds the value of row number `rows` (so many are there already); `steps` is the field's steps to a unit.
    pub fn push(&mut self, rows: usize, steps: f64, value: Option<f64>) {
        let small = value.map_or(Some(ABSENT), |v| packed(v, steps));
        match (&mut *self, small) {
            (Self::Empty, _) if value.is_none() => {}
            (Self::Empty, _) => {
                *self = Self::Small(vec![ABSENT; rows]);
                self.push(rows, steps, value);
            }
            (Self::Small(values), Some(small)) => values.push(small),
            (Self::Small(values), None) => {
                let wide = values.iter().map(|n| wide(*n, steps)).collect();
                *self = Self::Wide(wide);
                self.push(rows, steps, value);
            }
            (Self::Wide(values), _) => values.push(value.unwrap_or(f64::NAN)),
        }
    }

    /// The value of a row.
    pub fn get(&self, row: usize, steps: f64) -> Option<f64> {
        match self {
            Self::Empty => None,
            Self::Small(values) => values
                .get(row)
                .filter(|n| **n != ABSENT)
                .map(|n| unpacked(*n, steps)),
            Self::Wide(values) => values.get(row).copied().filter(|v| !v.is_nan()),
        }
    }

    /// The rows in another order, those not named left out.
    pub fn reordered(&self, order: &[u32]) -> Self {
        match self {
            Self::Empty => Self::Empty,
            Self::Small(values) => Self::Small(pick(values, order)),
            Self::Wide(values) => Self::Wide(pick(values, order)),
        }
    }

    /// Gives back the room that growing left over.
    pub fn trim(&mut self) {
        match self {
            Self::Empty => {}
            Self::Small(values) => values.shrink_to_fit(),
            Self::Wide(values) => values.shrink_to_fit(),
        }
    }
}

fn wide(small: i16, steps: f64) -> f64 {
    match small {
        ABSENT => f64::NAN,
        n => unpacked(n, steps),
    }
}

/// The named items in the order named.
pub(super) fn pick<T: Copy>(items: &[T], order: &[u32]) -> Vec<T> {
    order.iter().map(|at| items[*at as usize]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gives_every_value_back_exactly() {
        let values = [
            Some(21.37),
            None,
            Some(-0.0),
            Some(-12.5),
            Some(1.0 / 3.0),
            None,
            Some(21.38),
        ];
        let mut column = PackedColumn::default();
        for (row, value) in values.iter().enumerate() {
            column.push(row, 100.0, *value);
        }
        for (row, value) in values.iter().enumerate() {
            let got = column.get(row, 100.0);
            assert_eq!(got.map(f64::to_bits), value.map(f64::to_bits), "row {row}");
        }
    }

    #[test]
    fn hundredths_stay_small() {
        let mut column = PackedColumn::default();
        for row in 0..14_000 {
            // As a line would be read: the nearest number to the decimal.
            let value: f64 = format!("{}.{:02}", row / 100 - 60, row % 100)
                .parse()
                .unwrap();
            column.push(row as usize, 100.0, Some(value));
        }
        assert!(matches!(column, PackedColumn::Small(_)));
    }
}

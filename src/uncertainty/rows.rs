//! A square matrix, serialised by rows.

use nalgebra::DMatrix;
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

pub fn serialize<S: Serializer>(m: &DMatrix<f64>, serializer: S) -> Result<S::Ok, S::Error> {
    let rows: Vec<Vec<f64>> = m.row_iter().map(|r| r.iter().copied().collect()).collect();
    rows.serialize(serializer)
}

pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<DMatrix<f64>, D::Error> {
    let rows = Vec::<Vec<f64>>::deserialize(deserializer)?;
    let n = rows.len();
    if rows.iter().any(|row| row.len() != n) {
        return Err(D::Error::custom("a matrix that is not square"));
    }
    Ok(DMatrix::from_fn(n, n, |i, j| rows[i][j]))
}

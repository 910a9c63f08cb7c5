//! Small linear least squares.

/// Normal equations of four unknowns.
#[derive(Default)]
pub(crate) struct Normal {
    m: [[f64; 4]; 4],
    b: [f64; 4],
    yy: f64,
    count: f64,
}

impl Normal {
    /// One equation.
    pub fn add(&mut self, row: [f64; 4], y: f64) {
        for i in 0..4 {
            for j in i..4 {
                self.m[i][j] += row[i] * row[j];
            }
            self.b[i] += row[i] * y;
        }
        self.yy += y * y;
        self.count += 1.0;
    }

    /// The unknowns, the root mean square left, and the last unknown's information.
    pub fn solve(&self) -> Option<([f64; 4], f64, f64)> {
        if self.count < 6.0 {
            return None;
        }
        // Cholesky; the last pivot squared is what the data say about the last unknown alone.
        let mut l = [[0f64; 4]; 4];
        for j in 0..4 {
            let mut d = self.m[j][j];
            for v in &l[j][..j] {
                d -= v * v;
            }
            if d <= 1e-9 {
                return None;
            }
            l[j][j] = d.sqrt();
            for i in j + 1..4 {
                let known: f64 = l[i].iter().zip(&l[j]).take(j).map(|(a, b)| a * b).sum();
                l[i][j] = (self.m[j][i] - known) / l[j][j];
            }
        }
        let mut z = [0f64; 4];
        for i in 0..4 {
            let s: f64 = (0..i).map(|q| l[i][q] * z[q]).sum();
            z[i] = (self.b[i] - s) / l[i][i];
        }
        let left = (self.yy - z.iter().map(|v| v * v).sum::<f64>()).max(0.0);
        let mut x = [0f64; 4];
        for i in (0..4).rev() {
            let s: f64 = (i + 1..4).map(|q| l[q][i] * x[q]).sum();
            x[i] = (z[i] - s) / l[i][i];
        }
        Some((x, (left / (self.count - 4.0).max(1.0)).sqrt(), l[3][3] * l[3][3]))
    }
}

//! Small linear least squares.

/// Normal equations of `N` unknowns.
pub(crate) struct Normal<const N: usize> {
    m: [[f64; N]; N],
    b: [f64; N],
    yy: f64,
    count: f64,
}

impl<const N: usize> Default for Normal<N> {
    fn default() -> Self {
        Self { m: [[0.0; N]; N], b: [0.0; N], yy: 0.0, count: 0.0 }
    }
}

impl<const N: usize> Normal<N> {
    /// One equation.
    pub fn add(&mut self, row: [f64; N], y: f64) {
        for i in 0..N {
            for j in i..N {
                self.m[i][j] += row[i] * row[j];
            }
            self.b[i] += row[i] * y;
        }
        self.yy += y * y;
        self.count += 1.0;
    }

    /// The unknowns, the root mean square left, and the last unknown's information.
    pub fn solve(&self) -> Option<([f64; N], f64, f64)> {
        if self.count < N as f64 + 2.0 {
            return None;
        }
        // Cholesky; the last pivot squared is what the data say about the last unknown alone.
        let mut l = [[0f64; N]; N];
        for j in 0..N {
            let mut d = self.m[j][j];
            for v in &l[j][..j] {
                d -= v * v;
            }
            if d <= 1e-9 {
                return None;
            }
            l[j][j] = d.sqrt();
            for i in j + 1..N {
                let known: f64 = l[i].iter().zip(&l[j]).take(j).map(|(a, b)| a * b).sum();
                l[i][j] = (self.m[j][i] - known) / l[j][j];
            }
        }
        let mut z = [0f64; N];
        for i in 0..N {
            let s: f64 = (0..i).map(|q| l[i][q] * z[q]).sum();
            z[i] = (self.b[i] - s) / l[i][i];
        }
        let left = (self.yy - z.iter().map(|v| v * v).sum::<f64>()).max(0.0);
        let mut x = [0f64; N];
        for i in (0..N).rev() {
            let s: f64 = (i + 1..N).map(|q| l[q][i] * x[q]).sum();
            x[i] = (z[i] - s) / l[i][i];
        }
        Some((
            x,
            (left / (self.count - N as f64).max(1.0)).sqrt(),
            l[N - 1][N - 1] * l[N - 1][N - 1],
        ))
    }
}

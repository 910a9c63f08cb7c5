//! The solver against certified results of the NIST Statistical Reference Datasets (nonlinear
//! regression), from both starting points NIST gives: the first far off, the second near.
//! Where the files come from is told in `data/nist/README.md`.

#![expect(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "helpers of tests, which the lints do not know as such"
)]

use fit::solver::{LeastSquares, Limits, Minimum, minimise};
use nalgebra::{DMatrix, DVector};

/// Correct decimal digits asked of parameters and of the sum of squares.
const PARAMETER_DIGITS: f64 = 6.0;
/// Correct decimal digits asked of standard deviations.
const DEVIATION_DIGITS: f64 = 4.0;

/// Value of a model at `x`, and its derivatives by the parameters.
type Model = fn(&[f64], f64) -> (f64, Vec<f64>);

/// A problem as its file tells it.
struct Certified {
    starts: [DVector<f64>; 2],
    values: Vec<f64>,
    deviations: Vec<f64>,
    sum_of_squares: f64,
    residual_deviation: f64,
    /// Pairs `(y, x)`.
    data: Vec<(f64, f64)>,
}

impl Certified {
    fn read(text: &str) -> Self {
        let lines: Vec<&str> = text.lines().collect();
        // "Certified Values  (lines 41 to 49)": the last five are sums, counts and a blank line.
        let range = |name: &str| {
            let line = lines.iter().find(|l| l.contains(name)).unwrap();
            let mut numbers = line
                .split(|c: char| !c.is_ascii_digit())
                .filter(|s| !s.is_empty())
                .map(|s| s.parse::<usize>().unwrap());
            (numbers.next().unwrap() - 1, numbers.next().unwrap())
        };
        let numbers = |line: &str| -> Vec<f64> {
            line.split_whitespace().map(|w| w.parse().unwrap()).collect()
        };
        let (from, to) = range("Starting Values   (lines");
        let rows: Vec<Vec<f64>> =
            lines[from..to].iter().map(|l| numbers(l.split_once('=').unwrap().1)).collect();
        assert!(rows.iter().all(|r| r.len() == 4));
        let column = |i: usize| rows.iter().map(|r| r[i]).collect::<Vec<f64>>();
        let said = |name: &str| -> f64 {
            let line = lines.iter().find(|l| l.starts_with(name)).unwrap();
            line.split_once(':').unwrap().1.trim().parse().unwrap()
        };
        let (from, to) = range("Data              (lines");
        let data: Vec<(f64, f64)> =
            lines[from - 1..to].iter().skip(1).map(|l| (numbers(l)[0], numbers(l)[1])).collect();
        assert_eq!(data.len() as f64, said("Number of Observations"));
        Self {
            starts: [DVector::from_vec(column(0)), DVector::from_vec(column(1))],
            values: column(2),
            deviations: column(3),
            sum_of_squares: said("Residual Sum of Squares"),
            residual_deviation: said("Residual Standard Deviation"),
            data,
        }
    }
}

/// The data and a model of them.
struct Regression<'a> {
    data: &'a [(f64, f64)],
    model: Model,
}

impl LeastSquares for Regression<'_> {
    fn residuals(&mut self, p: &DVector<f64>) -> Option<DVector<f64>> {
        let off = self.data.iter().map(|&(y, x)| (self.model)(p.as_slice(), x).0 - y);
        Some(DVector::from_iterator(self.data.len(), off))
    }

    fn jacobian(&mut self, p: &DVector<f64>) -> Option<DMatrix<f64>> {
        let rows = self.data.iter().flat_map(|&(_, x)| (self.model)(p.as_slice(), x).1);
        Some(DMatrix::from_row_iterator(self.data.len(), p.len(), rows))
    }
}

/// Correct decimal digits: the negative logarithm of the relative error, eleven at most, as many as
/// are certified.
fn digits(found: f64, certified: f64) -> f64 {
    let digits = -((found - certified) / certified).abs().log10();
    if digits.is_nan() { f64::NEG_INFINITY } else { digits.min(11.0) }
}

/// Least digits of parameters, of the sum of squares and of standard deviations.
fn digits_of(found: &Minimum, certified: &Certified) -> (f64, f64, f64) {
    let least = |pairs: &mut dyn Iterator<Item = (f64, f64)>| {
        pairs.map(|(a, b)| digits(a, b)).fold(f64::INFINITY, f64::min)
    };
    let freedom = certified.data.len() - certified.values.len();
    let variance = found.sum_of_squares / freedom as f64;
    let covariance = found.covariance().unwrap();
    let deviations = covariance.diagonal().map(|v| (v * variance).sqrt());
    (
        least(&mut found.p.iter().copied().zip(certified.values.iter().copied())),
        digits(found.sum_of_squares, certified.sum_of_squares)
            .min(digits(variance.sqrt(), certified.residual_deviation)),
        least(&mut deviations.iter().copied().zip(certified.deviations.iter().copied())),
    )
}

fn check(name: &str, text: &str, model: Model) {
    let certified = Certified::read(text);
    for (i, start) in certified.starts.iter().enumerate() {
        let mut problem = Regression { data: &certified.data, model };
        derivatives_agree(&mut problem, &DVector::from_vec(certified.values.clone()));
        let found = minimise(&mut problem, start.clone(), Limits::default(), &|| true).unwrap();
        let (parameters, squares, deviations) = digits_of(&found, &certified);
        println!(
            "{name} from start {}: digits of parameters {parameters:.1}, of the sum of squares \
             {squares:.1}, of standard deviations {deviations:.1}; {} steps, converged {}",
            i + 1,
            found.steps,
            found.converged
        );
        let what = format!("{name} from start {}", i + 1);
        assert!(found.converged, "{what}: {found:?}");
        assert!(parameters >= PARAMETER_DIGITS, "{what}: {:?}", found.p);
        assert!(squares >= PARAMETER_DIGITS, "{what}: {}", found.sum_of_squares);
        assert!(deviations >= DEVIATION_DIGITS, "{what}");
    }
}

/// That a model's derivatives are those of its values, by central differences.
fn derivatives_agree(problem: &mut Regression, p: &DVector<f64>) {
    let exact = problem.jacobian(p).unwrap();
    for j in 0..p.len() {
        let h = 1e-6 * p[j];
        let (mut low, mut high) = (p.clone(), p.clone());
        low[j] -= h;
        high[j] += h;
        let by_difference =
            (problem.residuals(&high).unwrap() - problem.residuals(&low).unwrap()) / (2.0 * h);
        let scale = exact.column(j).amax();
        let off = (by_difference - exact.column(j)).amax();
        assert!(off < 1e-5 * scale, "derivative by parameter {j}: off by {off} of {scale}");
    }
}

#[test]
fn mgh09_kowalik_and_osborne() {
    check("MGH09", include_str!("data/nist/MGH09.dat"), |b, x| {
        let (top, low) = (x * x + x * b[1], x * x + x * b[2] + b[3]);
        let y = b[0] * top / low;
        (y, vec![top / low, b[0] * x / low, -y * x / low, -y / low])
    });
}

#[test]
fn mgh10_meyer() {
    check("MGH10", include_str!("data/nist/MGH10.dat"), |b, x| {
        let power = (b[1] / (x + b[2])).exp();
        let y = b[0] * power;
        (y, vec![power, y / (x + b[2]), -y * b[1] / (x + b[2]).powi(2)])
    });
}

#[test]
fn thurber_electron_mobility() {
    check("Thurber", include_str!("data/nist/Thurber.dat"), |b, x| {
        let powers = [1.0, x, x * x, x * x * x];
        let top: f64 = powers.iter().zip(&b[..4]).map(|(p, b)| p * b).sum();
        let low = 1.0 + powers[1..].iter().zip(&b[4..]).map(|(p, b)| p * b).sum::<f64>();
        let y = top / low;
        let above = powers.iter().map(|p| p / low);
        (y, above.chain(powers[1..].iter().map(|p| -y * p / low)).collect())
    });
}

#[test]
fn lanczos3_three_exponentials() {
    check("Lanczos3", include_str!("data/nist/Lanczos3.dat"), |b, x| {
        let terms = b.chunks_exact(2).map(|c| (c[0], (-c[1] * x).exp()));
        let y = terms.clone().map(|(a, e)| a * e).sum();
        (y, terms.flat_map(|(a, e)| [e, -a * x * e]).collect())
    });
}

#[test]
fn eckerle4_interference_transmittance() {
    check("Eckerle4", include_str!("data/nist/Eckerle4.dat"), |b, x| {
        let u = (x - b[2]) / b[1];
        let bell = (-0.5 * u * u).exp() / b[1];
        let y = b[0] * bell;
        (y, vec![bell, y * (u * u - 1.0) / b[1], y * u / b[1]])
    });
}

#[test]
fn boxbod_biochemical_oxygen_demand() {
    check("BoxBOD", include_str!("data/nist/BoxBOD.dat"), |b, x| {
        let left = (-b[1] * x).exp();
        (b[0] * (1.0 - left), vec![1.0 - left, b[0] * x * left])
    });
}

//! Nonlinear least squares by Levenberg and Marquardt, for a handful of unknowns.
//!
//! Each reading carries its own loss [`Loss`](super::robust) through a weight
//! that is renewed at every step (iteratively reweighted least squares), and a
//! step is kept only when the *robust* cost falls, so the search cannot run
//! away [Marquardt-1963; Nocedal-2006, ch. 10].

/// What is to be fitted.
pub(super) trait Problem {
    /// Residuals at these parameters, in units of the readings.
    fn residuals(&self, at: &[f64], into: &mut Vec<f64>);
    /// Cost of residual `i`, and the weight it carries in the normal equations.
    fn cost_and_weight(&self, i: usize, residual: f64) -> (f64, f64);
    /// The information residual `i` holds at the minimum: the curvature of its cost.
    fn information(&self, i: usize, residual: f64) -> f64;
    /// What is believed of parameter `j` beforehand: value and standard deviation.
    fn prior(&self, j: usize) -> Option<(f64, f64)>;
}

/// A minimum found.
pub(super) struct Minimum {
    pub(super) at: Vec<f64>,
    pub(super) residuals: Vec<f64>,
    pub(super) cost: f64,
}

const MOST_STEPS: usize = 60;
/// Relative step of the Jacobian's differences: a hundred-thousandth of a slope is
/// lost to curvature, far less to rounding.
const STEP: f64 = 1e-6;

/// Runs downhill from `start` until a step gains less than `enough` in cost.
pub(super) fn minimise(problem: &impl Problem, start: Vec<f64>, enough: f64) -> Minimum {
    let mut at = start;
    let mut residuals = Vec::new();
    problem.residuals(&at, &mut residuals);
    let mut cost = cost_of(problem, &at, &residuals);
    let mut damping = 1e-3;
    for _ in 0..MOST_STEPS {
        let (normal, gradient) = normal_equations(problem, &at, &residuals, |i, r| problem.cost_and_weight(i, r).1);
        let mut improved = false;
        for _ in 0..12 {
            let mut damped = normal.clone();
            for (j, row) in damped.iter_mut().enumerate() {
                row[j] += damping * row[j].max(1e-12);
            }
            let Some(step) = solve(damped, &gradient) else {
                damping *= 10.0;
                continue;
            };
            let trial: Vec<f64> = at.iter().zip(&step).map(|(a, s)| a - s).collect();
            let mut trial_residuals = Vec::new();
            problem.residuals(&trial, &mut trial_residuals);
            let trial_cost = cost_of(problem, &trial, &trial_residuals);
            if trial_cost < cost {
                let gain = cost - trial_cost;
                (at, residuals, cost) = (trial, trial_residuals, trial_cost);
                damping = (damping * 0.2).max(1e-12);
                improved = gain > enough;
                break;
            }
            damping *= 6.0;
        }
        if !improved {
            break;
        }
    }
    Minimum { at, residuals, cost }
}

/// What a parameter is known by that no reading bears on: so little that its
/// error is beyond any use, and enough that the others keep theirs.
const NEXT_TO_NOTHING: f64 = 1e-12;

/// Inverse of the information at a minimum; `None` where the data leave a
/// direction open that is not a single parameter's.
pub(super) fn covariance(problem: &impl Problem, found: &Minimum) -> Option<Vec<Vec<f64>>> {
    let information = |i: usize, r: f64| problem.information(i, r);
    let (mut normal, _) = normal_equations(problem, &found.at, &found.residuals, information);
    let n = found.at.len();
    for (j, row) in normal.iter_mut().enumerate() {
        row[j] = row[j].max(NEXT_TO_NOTHING);
    }
    let unit = |j: usize| (0..n).map(|i| f64::from(u8::from(i == j))).collect::<Vec<f64>>();
    (0..n).map(|j| solve(normal.clone(), &unit(j))).collect()
}

fn cost_of(problem: &impl Problem, at: &[f64], residuals: &[f64]) -> f64 {
    let data: f64 = residuals.iter().enumerate().map(|(i, &r)| problem.cost_and_weight(i, r).0).sum();
    let believed = at
        .iter()
        .enumerate()
        .filter_map(|(j, &value)| problem.prior(j).map(|(mean, sd)| 0.5 * ((value - mean) / sd).powi(2)));
    let cost = data + believed.sum::<f64>();
    if cost.is_nan() { f64::INFINITY } else { cost }
}

/// `JᵀWJ` and `JᵀWr`, priors included; the Jacobian by differences.
fn normal_equations(
    problem: &impl Problem,
    at: &[f64],
    residuals: &[f64],
    weight: impl Fn(usize, f64) -> f64,
) -> (Vec<Vec<f64>>, Vec<f64>) {
    let n = at.len();
    let mut columns = Vec::with_capacity(n);
    let mut moved = at.to_vec();
    let mut beyond = Vec::with_capacity(residuals.len());
    for j in 0..n {
        let h = STEP * at[j].abs().max(0.1);
        moved[j] = at[j] + h;
        problem.residuals(&moved, &mut beyond);
        moved[j] = at[j];
        let column: Vec<f64> = beyond.iter().zip(residuals).map(|(u, r)| (u - r) / h).collect();
        columns.push(column);
    }
    let weights: Vec<f64> = residuals.iter().enumerate().map(|(i, &r)| weight(i, r)).collect();
    let mut normal = vec![vec![0.0; n]; n];
    let mut gradient = vec![0.0; n];
    for j in 0..n {
        for k in 0..=j {
            let sum = (0..residuals.len()).map(|i| weights[i] * columns[j][i] * columns[k][i]).sum();
            normal[j][k] = sum;
            normal[k][j] = sum;
        }
        gradient[j] = (0..residuals.len()).map(|i| weights[i] * columns[j][i] * residuals[i]).sum();
        if let Some((mean, sd)) = problem.prior(j) {
            normal[j][j] += 1.0 / (sd * sd);
            gradient[j] += (at[j] - mean) / (sd * sd);
        }
    }
    (normal, gradient)
}

/// Solves a small symmetric positive system by Cholesky; `None` where it is not.
fn solve(mut m: Vec<Vec<f64>>, right: &[f64]) -> Option<Vec<f64>> {
    let n = right.len();
    for j in 0..n {
        let square = m[j][j] - (0..j).map(|k| m[j][k] * m[j][k]).sum::<f64>();
        // Rounding leaves about 1e-16 of the diagonal in an open direction.
        if square.is_nan() || square <= 1e-13 * m[j][j].abs() {
            return None;
        }
        m[j][j] = square.sqrt();
        for i in j + 1..n {
            let dot: f64 = (0..j).map(|k| m[i][k] * m[j][k]).sum();
            m[i][j] = (m[i][j] - dot) / m[j][j];
        }
    }
    let mut x = right.to_vec();
    for i in 0..n {
        let dot: f64 = (0..i).map(|k| m[i][k] * x[k]).sum();
        x[i] = (x[i] - dot) / m[i][i];
    }
    for i in (0..n).rev() {
        let dot: f64 = (i + 1..n).map(|k| m[k][i] * x[k]).sum();
        x[i] = (x[i] - dot) / m[i][i];
    }
    x.iter().all(|v| v.is_finite()).then_some(x)
}

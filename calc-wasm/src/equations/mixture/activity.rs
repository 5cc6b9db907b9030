//! How two liquids hold to each other: activity coefficients by modified UNIFAC (Dortmund).
//!
//! Each substance is a sum of groups; what two groups do to each other was fitted once to data of
//! many mixtures and holds for all others. With x shares in moles, ln γ = ln γ^C + ln γ^R:
//!
//! - size: ln γ^C = 1 − V′ + ln V′ − 5·q·(1 − V/F + ln(V/F)), where V = r/Σx·r, F = q/Σx·q, and
//!   V′ is V with r^¾ for r; r and q are the sums of R and Q over the groups of a substance;
//! - groups: ln γ^R = Σ Q·(ln Γ − ln Γ in the pure liquid) over its groups, where for main group m
//!   ln Γ = 1 − ln S_m − Σ_k θ_k·ψ_mk/S_k, S_m = Σ_k θ_k·ψ_km, θ the share of the surface, and
//!   ψ_mk = exp(−(a/T + b + c·T)), T in kelvin.
//!
//! Source: U. Weidlich, J. Gmehling, Ind. Eng. Chem. Res. 26 (1987) 1372; figures in
//! `content/data/group_interactions.toml`. From about 0 to 150 °C, for molecules that neither
//! react nor pair up in the vapour.

use crate::library::{Library, Record};
use crate::problem::Problem;
use crate::quantity::digits;

/// Shares in moles of the first and the second; each keeps its own digits near nought.
pub type Shares = [f64; 2];

/// Two substances as sums of groups.
#[derive(Debug, Clone)]
pub struct Activity {
    /// Volume and surface of each.
    r: [f64; 2],
    q: [f64; 2],
    /// Surface that each brings in each main group.
    areas: Vec<[f64; 2]>,
    /// a, b and c from each main group to each, row by row.
    energies: Vec<[f64; 3]>,
}

impl Activity {
    /// Puts two rows of the table of substances together from their groups; `inputs` are to blame.
    ///
    /// # Errors
    /// A sentence, when the groups of a substance, or what two groups do to each other, are not
    /// published.
    pub fn of(
        substances: [Record<'_>; 2],
        inputs: [&str; 2],
        library: &Library,
    ) -> Result<Self, Problem> {
        let mut mains: Vec<&str> = Vec::new();
        let mut activity = Activity {
            r: [0.0; 2],
            q: [0.0; 2],
            areas: Vec::new(),
            energies: Vec::new(),
        };
        for (side, substance) in substances.iter().enumerate() {
            let known = activity.add(side, substance.name(), &mut mains, library);
            known.ok_or_else(|| {
                Problem::new(
                    inputs[side],
                    "no published groups make up {}, so how it mixes is not known here",
                )
                .text(substance.name())
            })?;
        }
        for one in &mains {
            for other in &mains {
                let energy = interaction(one, other, library).ok_or_else(|| {
                    Problem::new(
                        inputs[1],
                        "how {} and {} mix is not known here: the published parameters do not cover all their groups",
                    )
                    .text(substances[0].name())
                    .text(substances[1].name())
                })?;
                activity.energies.push(energy);
            }
        }
        Ok(activity)
    }

    /// Adds the groups of one substance; None where one of them is not known.
    fn add<'a>(
        &mut self,
        side: usize,
        name: &str,
        mains: &mut Vec<&'a str>,
        library: &'a Library,
    ) -> Option<()> {
        let mut rows = library.rows("substance_groups");
        let mut words = rows
            .find(|row| row.name() == name)?
            .text("groups")
            .split(' ');
        while let (Some(group), Some(count)) = (words.next(), words.next()) {
            let count = digits::whole(count)?;
            let size = library
                .rows("group_sizes")
                .find(|row| row.name() == group)?;
            let area = count * size.number("q")?;
            self.r[side] += count * size.number("r")?;
            self.q[side] += area;
            let main = size.text("main");
            let at = mains.iter().position(|known| *known == main);
            let at = at.unwrap_or_else(|| {
                mains.push(main);
                self.areas.push([0.0; 2]);
                mains.len() - 1
            });
            self.areas[at][side] += area;
        }
        Some(())
    }

    /// The two at a temperature.
    pub fn at(&self, kelvin: f64) -> Liquid<'_> {
        let psi = |&[a, b, c]: &[f64; 3]| libm::exp(-(a / kelvin + b + c * kelvin));
        let mut liquid = Liquid {
            groups: self,
            psi: self.energies.iter().map(psi).collect(),
            pure: [0.0; 2],
        };
        liquid.pure = [
            liquid.surfaces([1.0, 0.0])[0],
            liquid.surfaces([0.0, 1.0])[1],
        ];
        liquid
    }
}

/// a, b and c from one main group to another; nought to itself; None where they are not published.
fn interaction(one: &str, other: &str, library: &Library) -> Option<[f64; 3]> {
    let mut abc = [0.0; 3];
    if one == other {
        return Some(abc);
    }
    let row = library
        .rows("group_interactions")
        .find(|row| row.name() == one)?;
    let at = row.text("with").split(' ').position(|with| with == other)?;
    for (value, column) in abc.iter_mut().zip(["a", "b", "c"]) {
        *value = digits::whole(row.text(column).split(' ').nth(at)?)?;
    }
    Some(abc)
}

/// The two at one temperature.
#[derive(Debug, Clone)]
pub struct Liquid<'g> {
    groups: &'g Activity,
    psi: Vec<f64>,
    /// Σ Q·ln Γ of each in its pure liquid.
    pure: [f64; 2],
}

impl Liquid<'_> {
    /// ln γ of both in a mixture of these shares.
    pub fn log_gamma(&self, x: Shares) -> [f64; 2] {
        let Activity { r, q, .. } = self.groups;
        let bent = r.map(|r| f64::sqrt(r * f64::sqrt(r)));
        let mean = |of: &[f64; 2]| x[0] * of[0] + x[1] * of[1];
        let (r_mean, q_mean, bent_mean) = (mean(r), mean(q), mean(&bent));
        let mixed = self.surfaces(x);
        [0, 1].map(|at| {
            let v = bent[at] / bent_mean;
            let ratio = r[at] / r_mean * q_mean / q[at];
            let size = 1.0 - v + libm::log(v) - 5.0 * q[at] * (1.0 - ratio + libm::log(ratio));
            size + mixed[at] - self.pure[at]
        })
    }

    /// Σ Q·ln Γ over the groups of each, in a mixture of these shares.
    #[inline(never)]
    fn surfaces(&self, x: Shares) -> [f64; 2] {
        let Activity { q, areas, .. } = self.groups;
        let whole = x[0] * q[0] + x[1] * q[1];
        let theta = |at: usize| (x[0] * areas[at][0] + x[1] * areas[at][1]) / whole;
        let count = areas.len();
        let mut sums = vec![0.0; count];
        for (at, row) in self.psi.chunks_exact(count).enumerate() {
            for (sum, psi) in sums.iter_mut().zip(row) {
                *sum += theta(at) * psi;
            }
        }
        let mut of = [0.0; 2];
        for (at, row) in self.psi.chunks_exact(count).enumerate() {
            let mut log = 1.0 - libm::log(sums[at]);
            for (other, psi) in row.iter().enumerate() {
                log -= theta(other) * psi / sums[other];
            }
            of[0] += areas[at][0] * log;
            of[1] += areas[at][1] * log;
        }
        of
    }
}

//! Where liquid collects, how much of it fits, and how high it stands.

use super::path::{Point, point};

/// Where liquid collects: half-widths at heights, from the bottom up; a body of revolution.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Cavity {
    pub axis: f64,
    /// (height y, half-width), y falling.
    pub profile: Vec<(f64, f64)>,
    /// Diameter and centre if the cavity is a ball, whose level stays flat however it is tilted.
    pub ball: Option<(f64, Point)>,
}

impl Cavity {
    pub fn read(line: &str) -> Result<Self, String> {
        let wrong = |why: &str| {
            format!("cavity `{line}`: {why}; write `ball 78 0 -39` or `profile 0: 20@0 20@-60`")
        };
        let (word, rest) = line
            .split_once(' ')
            .ok_or_else(|| wrong("it is too short"))?;
        match word {
            "ball" => {
                let n: Vec<f64> = rest
                    .split_whitespace()
                    .filter_map(|w| w.parse().ok())
                    .collect();
                let [wide, x, y] = n[..] else {
                    return Err(wrong("three numbers are expected"));
                };
                Ok(Self::ball(wide, point(x, y)))
            }
            "profile" => {
                let (axis, rest) = rest
                    .split_once(':')
                    .ok_or_else(|| wrong("`:` is missing"))?;
                let axis = axis
                    .trim()
                    .parse()
                    .map_err(|_| wrong("the axis is not a number"))?;
                let mut profile = Vec::new();
                for word in rest.split_whitespace() {
                    let pair = word
                        .split_once('@')
                        .and_then(|(r, y)| Some((y.parse().ok()?, r.parse().ok()?)));
                    profile.push(pair.ok_or_else(|| {
                        wrong(&format!("`{word}` is not a half-width and a height"))
                    })?);
                }
                if profile.len() < 2 || profile.windows(2).any(|pair| pair[1].0 >= pair[0].0) {
                    return Err(wrong(
                        "two or more heights are expected, from the bottom up",
                    ));
                }
                Ok(Self {
                    axis,
                    profile,
                    ball: None,
                })
            }
            _ => Err(wrong("unknown form")),
        }
    }

    pub fn ball(wide: f64, centre: Point) -> Self {
        let radius = wide / 2.0;
        let profile = (0..=48)
            .map(|i| {
                let (sin, cos) = libm::sincos(std::f64::consts::PI * f64::from(i) / 48.0);
                (centre.y + radius * cos, radius * sin)
            })
            .collect();
        Self {
            axis: centre.x,
            profile,
            ball: Some((wide, centre)),
        }
    }

    /// Volume up to the brim, mL.
    pub fn volume(&self) -> f64 {
        self.profile
            .windows(2)
            .map(|pair| frustum(pair[0].1, pair[1].1, pair[0].0 - pair[1].0))
            .sum()
    }

    /// The height y that `volume` mL reach; the brim if it is more than fits.
    pub fn level(&self, volume: f64) -> f64 {
        let mut left = volume;
        for pair in self.profile.windows(2) {
            let ((low, r), (high, s)) = (pair[0], pair[1]);
            let slice = frustum(r, s, low - high);
            if slice >= left {
                let (mut a, mut b) = (0.0, 1.0);
                for _ in 0..40 {
                    let share = (a + b) / 2.0;
                    if frustum(r, r + (s - r) * share, (low - high) * share) < left {
                        a = share
                    } else {
                        b = share
                    }
                }
                return low - (low - high) * a;
            }
            left -= slice;
        }
        self.profile.last().map_or(0.0, |p| p.0)
    }

    /// Half-width at height `y`.
    pub fn half_width(&self, y: f64) -> f64 {
        for pair in self.profile.windows(2) {
            let ((low, r), (high, s)) = (pair[0], pair[1]);
            if (high..=low).contains(&y) {
                return r + (s - r) * (low - y) / (low - high);
            }
        }
        0.0
    }
}

/// Volume of a cut cone, radii and height in mm, in mL.
fn frustum(r: f64, s: f64, height: f64) -> f64 {
    std::f64::consts::PI * height * (r * r + r * s + s * s) / 3000.0
}

/// Inner diameter in mm of a ball that holds so many mL: V = π·d³/6.
pub fn ball_diameter(volume: f64) -> f64 {
    libm::cbrt(6000.0 * volume / std::f64::consts::PI)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ball_is_half_full_at_its_middle() {
        let cavity = Cavity::ball(ball_diameter(250.0), point(0.0, -40.0));
        assert!((cavity.volume() - 250.0).abs() < 1.0, "{}", cavity.volume());
        assert!(
            (cavity.level(125.0) + 40.0).abs() < 0.3,
            "{}",
            cavity.level(125.0)
        );
    }
}

//! What shaking looks like from one reading to the next, and the level under it.
//!
//! Shaking is taken for a process in which each reading can be foretold from the few before it, but for a remainder
//! (an autoregression, fitted with Burg's method to the readings of known rests; Burg 1967, Brockwell and Davis,
//! Time Series: Theory and Methods, both from memory). That covers machines that run evenly, machines that do not and
//! plain noise, whatever their frequency is beside the rate of the frames. The remainders are independent, so the
//! level under the shaking is a weighted mean with a true standard error, and whether some readings belong to one
//! level can be tested one by one (the recursive residuals of Brown, Durbin and Evans, 1975, from memory).

use std::collections::VecDeque;

/// A value at a whole number of readings.
#[derive(Debug, Clone, Copy)]
pub struct Point {
    pub number: i64,
    pub value: f64,
}

const ORDER: usize = 12;

/// Predictors of every order up to the best one, and the variance of what each leaves over.
#[derive(Debug, Clone, Copy)]
pub struct Sway {
    order: usize,
    weights: [[f64; ORDER]; ORDER + 1],
    left_over: [f64; ORDER + 1],
}

/// The level that the newest readings agree with.
#[derive(Debug, Clone, Copy)]
pub struct Found {
    pub mean: f64,
    pub error: f64,
    pub samples: usize,
}

/// Work room for a fit, so that none is allocated a reading.
#[derive(Debug)]
pub struct Room {
    forward: Vec<f64>,
    backward: Vec<f64>,
    levels: Vec<Found>,
}

/// A remainder that is so many standard deviations off belongs to another level.
const STRANGE: f64 = 4.2;
/// The same for a mean of about the last five remainders, each weighing four fifths of the one after it.
const LEANING: f64 = 6.2;
const FADING: f64 = 0.8;
/// The readings that had already come from another level when the leaning is seen.
const LATE: usize = 5;
/// What was fitted explains its own readings too well.
const MODEST: f64 = 1.2;

impl Room {
    pub fn new(size: usize) -> Room {
        Room { forward: Vec::with_capacity(size), backward: Vec::with_capacity(size), levels: Vec::with_capacity(size) }
    }
}

impl Sway {
    /// Fits to `points` about `mean`; the remainder is no less than `least` (a standard deviation).
    pub fn fit(points: &[Point], mean: f64, least: f64, room: &mut Room) -> Sway {
        let Room { forward, backward, .. } = room;
        forward.clear();
        forward.extend(points.iter().map(|point| point.value - mean));
        backward.clear();
        backward.extend_from_slice(forward);
        let count = points.len().max(1) as f64;
        let floor = least * least;
        let mut sway = Sway { order: 0, weights: [[0.0; ORDER]; ORDER + 1], left_over: [0.0; ORDER + 1] };
        let mut variance = forward.iter().map(|value| value * value).sum::<f64>() / count;
        sway.left_over[0] = variance.max(floor) * MODEST;
        let mut best = count * variance.max(floor).ln();
        for order in 1..=ORDER.min(points.len() / 6) {
            let (mut product, mut squares) = (0.0, 0.0);
            for index in order..points.len() {
                if points[index].number - points[index - order].number == order as i64 {
                    let (ahead, behind) = (forward[index], backward[index - 1]);
                    product += ahead * behind;
                    squares += ahead * ahead + behind * behind;
                }
            }
            let share = if squares > 0.0 { 2.0 * product / squares } else { 0.0 };
            for index in (order..points.len()).rev() {
                let (ahead, behind) = (forward[index], backward[index - 1]);
                forward[index] = ahead - share * behind;
                backward[index] = behind - share * ahead;
            }
            let before = sway.weights[order - 1];
            for index in 0..order - 1 {
                sway.weights[order][index] = before[index] - share * before[order - 2 - index];
            }
            sway.weights[order][order - 1] = share;
            variance *= 1.0 - share * share;
            sway.left_over[order] = variance.max(floor) * MODEST;
            // Akaike's measure, with the correction for few readings.
            let free = count - order as f64 - 2.0;
            let worth = count * variance.max(floor).ln() + 2.0 * order as f64 * count / free.max(1.0);
            if worth < best {
                (best, sway.order) = (worth, order);
            }
        }
        sway
    }

    /// Standard deviation of the shaking itself.
    pub fn size(&self) -> f64 {
        self.left_over[0].sqrt()
    }

    /// The level of the newest of `points` that agree with one, going back from the last of them. Where a level
    /// `before` is known and another explains the newest readings much better, only those that it explains count.
    pub fn level(&self, points: &VecDeque<Point>, before: Option<f64>, room: &mut Room) -> Option<Found> {
        let levels = &mut room.levels;
        levels.clear();
        let (mut weight, mut sum, mut run, mut leaning) = (0.0, 0.0, 0_usize, 0.0);
        let mut strongest = (0.0, 0);
        let newest = points.len();
        for (taken, point) in points.iter().rev().enumerate() {
            if taken > 0 && points[newest - taken].number - point.number != 1 {
                run = 0;
            }
            let order = run.min(self.order);
            let weights = &self.weights[order][..order];
            // A steady process looks the same backwards: what is foretold here is the reading before.
            let (mut one, mut rest) = (1.0, point.value);
            for (back, share) in weights.iter().enumerate() {
                one -= share;
                rest -= share * points[newest - taken + back].value;
            }
            let variance = self.left_over[order];
            if taken > 0 {
                let strange = (rest - one * sum / weight) / (variance + one * one / weight).sqrt();
                leaning = leaning * FADING + strange * one.signum();
                if strange.abs() > STRANGE {
                    break;
                }
                if leaning.abs() > LEANING {
                    levels.truncate(levels.len().saturating_sub(LATE).max(1));
                    break;
                }
            }
            run += 1;
            let one = one.abs().max(0.02) * one.signum();
            weight += one * one / variance;
            sum += one * rest / variance;
            levels.push(Found { mean: sum / weight, error: weight.sqrt().recip(), samples: taken + 1 });
            if let Some(before) = before {
                let evidence = (sum / weight - before).powi(2) * weight;
                if evidence > strongest.0 {
                    strongest = (evidence, taken);
                }
            }
        }
        let last = levels.len().checked_sub(1)?;
        let moved = strongest.0 > STRANGE * STRANGE + 8.0;
        levels.get(if moved { strongest.1.min(last) } else { last }).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Even noise between −1 and 1, the same each time.
    fn noise(seed: &mut u64) -> f64 {
        *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (*seed >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }

    /// A machine that shakes by ±6 at a bit less than a quarter of the frames, with some noise.
    fn shaken(seed: &mut u64, from: i64, count: i64, level: f64) -> impl Iterator<Item = Point> {
        (from..from + count).map(move |number| {
            let swing = 6.0 * (number as f64 * 1.43).sin();
            Point { number, value: level + swing + noise(seed) }
        })
    }

    fn learned(seed: &mut u64, room: &mut Room) -> Sway {
        let known: Vec<Point> = shaken(seed, 0, 200, 0.0).collect();
        Sway::fit(&known, 0.0, 0.3, room)
    }

    #[test]
    fn the_error_of_a_level_is_what_it_says() {
        let mut room = Room::new(400);
        let (mut within, mut widest) = (0, 0.0_f64);
        for run in 0..200 {
            let mut seed = 77 + run;
            let sway = learned(&mut seed, &mut room);
            let points = shaken(&mut seed, 1000, 12, 50.0).collect();
            let found = sway.level(&points, None, &mut room).expect("twelve readings agree");
            within += u32::from((found.mean - 50.0).abs() <= 2.0 * found.error);
            widest = widest.max(found.error);
        }
        assert!(within >= 180, "{within} of 200 within two standard errors");
        // Twelve readings taken for plain noise of that size would leave 1.2.
        assert!(widest < 0.6, "{widest}");
    }

    #[test]
    fn only_the_readings_after_a_change_count() {
        let mut room = Room::new(400);
        for (run, change) in [30.0, 8.0, -8.0].into_iter().cycle().take(60).enumerate() {
            let mut seed = 5 + run as u64;
            let sway = learned(&mut seed, &mut room);
            let mut points: VecDeque<Point> = shaken(&mut seed, 1000, 30, 0.0).collect();
            points.extend(shaken(&mut seed, 1030, 14, change));
            let found = sway.level(&points, Some(0.0), &mut room).expect("a level");
            assert!((12..=17).contains(&found.samples), "{change}: {} readings", found.samples);
            assert!((found.mean - change).abs() <= 4.0 * found.error, "{change}: {found:?}");
        }
    }

    #[test]
    fn missing_readings_break_the_row_and_not_the_level() {
        let mut room = Room::new(400);
        for gap in [3, 5, 6, 7, 9] {
            let mut seed = 3;
            let sway = learned(&mut seed, &mut room);
            let mut points: VecDeque<Point> = shaken(&mut seed, 1000, 20, 9.0).collect();
            points.extend(shaken(&mut seed, 1020 + gap, 10, 9.0));
            let found = sway.level(&points, None, &mut room).expect("a level");
            assert_eq!(found.samples, 30, "{gap} are missing");
            assert!((found.mean - 9.0).abs() <= 3.0 * found.error, "{found:?}");
        }
    }
}

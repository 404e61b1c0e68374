//! The oscillations in a row of numbers, by least squares.

use super::shake::Shake;

/// A value at a whole number of readings.
#[derive(Debug, Clone, Copy)]
pub struct Point {
    pub number: i64,
    pub value: f64,
}

/// One oscillation: radians a reading, and its two amplitudes.
#[derive(Debug, Clone, Copy, Default)]
pub struct Wave {
    turn: f64,
    cosine: f64,
    sine: f64,
}

impl Wave {
    pub fn at(&self, readings: f64) -> f64 {
        let (sine, cosine) = (self.turn * readings).sin_cos();
        self.cosine * cosine + self.sine * sine
    }
}

/// What a fit found; deviations are standard deviations.
#[derive(Debug, Clone, Copy)]
pub struct Found {
    pub waves: [Wave; Shake::WAVES],
    pub before: f64,
    pub left_over: f64,
}

/// Unknowns of a fit: the level, and two amplitudes a wave.
const UNKNOWNS: usize = 1 + 2 * Shake::WAVES;

/// Finds the strongest oscillations, phases counted from the reading `origin`. `rest` is room to work in.
pub fn fit(points: &[Point], origin: i64, rest: &mut Vec<f64>) -> Found {
    let count = points.len() as f64;
    let mean = points.iter().map(|point| point.value).sum::<f64>() / count;
    let sum: f64 = points.iter().map(|point| (point.value - mean).powi(2)).sum();
    let mut found =
        Found { waves: [Wave::default(); Shake::WAVES], before: (sum / count).sqrt(), left_over: (sum / count).sqrt() };
    let (mut waves, mut level) = (found.waves, mean);
    for used in 1..=Shake::WAVES {
        let free = points.len() as isize - (1 + 3 * used) as isize;
        if free < 5 {
            break;
        }
        remainder(points, origin, &waves, level, rest);
        waves[used - 1].turn = strongest(points, rest);
        level = amplitudes(points, origin, &mut waves, used);
        for _ in 0..2 {
            for index in 0..used {
                let mut others = waves;
                others[index] = Wave::default();
                remainder(points, origin, &others, level, rest);
                waves[index].turn = sharpen(points, rest, waves[index].turn);
                level = amplitudes(points, origin, &mut waves, used);
            }
        }
        remainder(points, origin, &waves, level, rest);
        let sum: f64 = rest.iter().map(|value| value * value).sum();
        let left_over = (sum / free as f64).sqrt();
        if left_over > found.left_over * 0.85 {
            break;
        }
        (found.waves, found.left_over) = (waves, left_over);
    }
    found
}

fn remainder(points: &[Point], origin: i64, waves: &[Wave], level: f64, rest: &mut Vec<f64>) {
    rest.clear();
    rest.extend(points.iter().map(|point| {
        let at = (point.number - origin) as f64;
        point.value - level - waves.iter().map(|wave| wave.at(at)).sum::<f64>()
    }));
}

/// Readings from the first point to the last.
fn reach(points: &[Point]) -> f64 {
    let ends = points.first().zip(points.last());
    ends.map_or(1.0, |(first, last)| (last.number - first.number) as f64).max(1.0)
}

/// The strength of the oscillation of `turn` radians a reading.
fn power(points: &[Point], rest: &[f64], turn: f64) -> f64 {
    let Some(first) = points.first() else { return 0.0 };
    let (by_sine, by_cosine) = turn.sin_cos();
    let (mut sine, mut cosine, mut number) = (0.0, 1.0, first.number);
    let (mut sines, mut cosines) = (0.0, 0.0);
    for (point, value) in points.iter().zip(rest) {
        if point.number == number + 1 {
            (sine, cosine) = (sine * by_cosine + cosine * by_sine, cosine * by_cosine - sine * by_sine);
        } else if point.number != number {
            (sine, cosine) = (turn * (point.number - first.number) as f64).sin_cos();
        }
        number = point.number;
        sines += value * sine;
        cosines += value * cosine;
    }
    sines * sines + cosines * cosines
}

/// The strongest oscillation of at least one turn within the points.
fn strongest(points: &[Point], rest: &[f64]) -> f64 {
    let span = reach(points).min(4.0 * points.len() as f64);
    let step = std::f64::consts::PI / (1.5 * span);
    let mut best = (0.0, step);
    let mut turn = 3.0 * step;
    while turn <= std::f64::consts::PI {
        let power = power(points, rest, turn);
        if power > best.0 {
            best = (power, turn);
        }
        turn += step;
    }
    best.1
}

/// The peak beside `turn`.
fn sharpen(points: &[Point], rest: &[f64], turn: f64) -> f64 {
    let mut step = std::f64::consts::PI / (3.0 * reach(points));
    let mut best = (power(points, rest, turn), turn);
    for _ in 0..9 {
        for other in [best.1 - step, best.1 + step] {
            let power = power(points, rest, other);
            if power > best.0 {
                best = (power, other);
            }
        }
        step /= 2.0;
    }
    best.1
}

/// Level and amplitudes for the turns of the first `used` waves; the level is handed back.
fn amplitudes(points: &[Point], origin: i64, waves: &mut [Wave; Shake::WAVES], used: usize) -> f64 {
    let size = 1 + 2 * used;
    let mut matrix = [[0.0; UNKNOWNS + 1]; UNKNOWNS];
    for point in points {
        let mut row = [1.0; UNKNOWNS + 1];
        for (index, wave) in waves[..used].iter().enumerate() {
            let (sine, cosine) = (wave.turn * (point.number - origin) as f64).sin_cos();
            (row[1 + 2 * index], row[2 + 2 * index]) = (cosine, sine);
        }
        row[size] = point.value;
        for (index, line) in matrix[..size].iter_mut().enumerate() {
            for column in index..=size {
                line[column] += row[index] * row[column];
            }
        }
    }
    // A little stiffness keeps two unknowns apart that these points cannot tell apart.
    (0..size).for_each(|index| matrix[index][index] += 1e-3 * points.len() as f64);
    // Only the upper half was summed; the matrix is symmetric, and elimination keeps it so.
    for pivot in 0..size {
        let (above, below) = matrix.split_at_mut(pivot + 1);
        let from = &above[pivot];
        for (offset, line) in below[..size - pivot - 1].iter_mut().enumerate() {
            let first = pivot + 1 + offset;
            let factor = from[first] / from[pivot];
            for (value, taken) in line[first..=size].iter_mut().zip(&from[first..=size]) {
                *value -= factor * taken;
            }
        }
    }
    let mut answer = [0.0; UNKNOWNS];
    for line in (0..size).rev() {
        let known: f64 = (line + 1..size).map(|column| matrix[line][column] * answer[column]).sum();
        answer[line] = (matrix[line][size] - known) / matrix[line][line];
    }
    for (index, wave) in waves[..used].iter_mut().enumerate() {
        (wave.cosine, wave.sine) = (answer[1 + 2 * index], answer[2 + 2 * index]);
    }
    answer[0]
}

//! The order in which speeds are tried.

use super::alphabet::Factor;

/// The likeliest first, then the faster ones, since a port that is too fast shows it; the slow ones last.
pub const SPEEDS: [u32; 10] = [9600, 19_200, 38_400, 57_600, 115_200, 4800, 2400, 1200, 600, 300];

/// How far a speed that was reckoned may lie from a usual one, in percent, to be taken for it.
const NEAR: u32 = 8;

/// A plan of speeds, and which of them were tried in this round.
#[derive(Debug, Clone)]
pub(super) struct Walk {
    plan: Vec<u32>,
    tried: Vec<u32>,
    now: u32,
    rounds: u32,
}

impl Walk {
    /// `first` come before all others, in their order.
    pub fn new(first: impl IntoIterator<Item = u32>) -> Walk {
        let mut plan: Vec<u32> = Vec::new();
        for speed in first.into_iter().chain(SPEEDS) {
            if speed > 0 && !plan.contains(&speed) {
                plan.push(speed);
            }
        }
        let now = plan[0];
        Walk { plan, tried: vec![now], now, rounds: 0 }
    }

    pub const fn speed(&self) -> u32 {
        self.now
    }

    /// Whole rounds in which nothing was found.
    pub const fn rounds(&self) -> u32 {
        self.rounds
    }

    /// The port was too fast by `factor`. A speed that was tried before is not tried again in this round.
    pub fn jump(&mut self, factor: Factor) -> u32 {
        let wanted = match factor {
            Factor::Times(times) => usual(self.now / times),
            Factor::TwelveOrMore => {
                let slow = self.plan.iter().copied().filter(|&speed| speed <= self.now / 12 && !self.tried.contains(&speed));
                slow.max().unwrap_or(0)
            }
        };
        if wanted == 0 || self.tried.contains(&wanted) { self.next() } else { self.go(wanted) }
    }

    /// The next of the plan; at its end it begins anew.
    pub fn next(&mut self) -> u32 {
        match self.plan.iter().copied().find(|speed| !self.tried.contains(speed)) {
            Some(speed) => self.go(speed),
            None => {
                self.rounds += 1;
                self.tried.clear();
                self.go(self.plan[0])
            }
        }
    }

    fn go(&mut self, speed: u32) -> u32 {
        self.now = speed;
        self.tried.push(speed);
        speed
    }
}

/// The usual speed beside `speed`, else itself.
fn usual(speed: u32) -> u32 {
    SPEEDS.into_iter().find(|usual| usual.abs_diff(speed) * 100 <= usual * NEAR).unwrap_or(speed)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn configured_and_remembered_speeds_come_first_and_once() {
        let mut walk = Walk::new([2400, 9600, 2400]);
        let mut order = vec![walk.speed()];
        while walk.rounds() == 0 {
            order.push(walk.next());
        }
        assert_eq!(order, [2400, 9600, 19_200, 38_400, 57_600, 115_200, 4800, 1200, 600, 300, 2400]);
    }

    #[test]
    fn a_factor_leads_straight_there_but_never_in_a_circle() {
        let mut walk = Walk::new([]);
        assert_eq!(walk.jump(Factor::Times(4)), 2400);
        assert_eq!(walk.jump(Factor::Times(2)), 1200);
        assert_eq!(Walk::new([]).jump(Factor::Times(3)), 3200);
        assert_eq!(Walk::new([]).jump(Factor::TwelveOrMore), 600);
        assert_eq!(Walk::new([57_600]).jump(Factor::Times(3)), 19_200);
        let mut walk = Walk::new([9600, 4800]);
        walk.next();
        assert_eq!((walk.speed(), Walk::new([115_200]).jump(Factor::TwelveOrMore)), (4800, 9600));
        assert_eq!(walk.jump(Factor::Times(2)), 2400);
        let mut walk = Walk::new([9600, 4800, 9600]);
        walk.next();
        walk.next();
        assert_eq!(walk.speed(), 19_200);
        assert_eq!(walk.jump(Factor::Times(2)), 38_400, "9600 was tried");
    }
}

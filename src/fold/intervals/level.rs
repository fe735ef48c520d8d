//! How many have ever reached a milestone, look after look, kept from falling. It knows no losses.

/// Totals in order of time, fitted so that they never fall.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Level {
    /// The days (after, by] in which each look's gain came.
    gained_in: Vec<(u32, u32)>,
    /// Neighbouring looks of one fitted total.
    blocks: Vec<Block>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Block {
    total: f64,
    weight: f64,
    looks: usize,
}

/// How a point below the level is brought into line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fall {
    /// The level stays: what was counted once was there.
    Kept,
    /// Neighbours are pooled, weighted by how many were seen (pool-adjacent-violators: Ayer et al.
    /// 1955, Annals of Mathematical Statistics 26:641).
    Pooled,
}

impl Level {
    /// The total now.
    pub(super) fn now(&self) -> f64 {
        self.blocks.last().map_or(0.0, |block| block.total)
    }

    /// Adds a look's total, its gain in (after, by], with the weight of how many were seen.
    pub(super) fn push(&mut self, gained_in: (u32, u32), total: f64, weight: f64, fall: Fall) {
        self.gained_in.push(gained_in);
        let total = match fall {
            Fall::Kept => total.max(self.now()),
            Fall::Pooled => total,
        };
        let looks = 1;
        let mut block = Block {
            total,
            weight,
            looks,
        };
        while let Some(before) = self.blocks.pop_if(|before| before.total > block.total) {
            let weight = before.weight + block.weight;
            block = Block {
                total: (before.total * before.weight + block.total * block.weight) / weight,
                weight,
                looks: before.looks + block.looks,
            };
        }
        self.blocks.push(block);
    }

    /// Parts the level: `share` of every total goes to the one returned.
    pub(super) fn part(&mut self, share: f64) -> Self {
        let mut part = self.clone();
        part.scale(share);
        self.scale(1.0 - share);
        part
    }

    fn scale(&mut self, by: f64) {
        for block in &mut self.blocks {
            block.total *= by;
        }
    }

    /// The gains: after, by, how many. They sum to the total now.
    pub(super) fn gains(&self) -> Vec<(u32, u32, f64)> {
        let mut out = Vec::new();
        let (mut before, mut first) = (0.0, 0);
        for block in &self.blocks {
            // The whole gain of a block belongs to its first look.
            if let Some(&(after, by)) = self.gained_in.get(first)
                && block.total > before
            {
                out.push((after, by, block.total - before));
            }
            (before, first) = (block.total, first + block.looks);
        }
        out
    }
}

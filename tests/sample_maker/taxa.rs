//! The invented nursery's plants and what is true of them: the table that the sample journals are drawn from.

use struck::model::listed::Wood;

/// How cuttings of one taxon at one wood stage fare, when the air is right.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nature {
    /// The wood stage.
    pub wood: Wood,
    /// Share that roots in the end, batches averaged.
    pub strike: f64,
    /// Median days from sticking to callus.
    pub callus_days: f64,
    /// Median days from callus to roots.
    pub root_days: f64,
    /// Median days from roots to roots at the bottom.
    pub bottom_days: f64,
    /// Batches of this size stuck in a usual season.
    pub sizes: &'static [u32],
    /// Rooting hormone used, in ppm of IBA in talc; 0 for none.
    pub ppm: f64,
}

/// A taxon of the nursery.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plant {
    /// Its name as the nursery writes it.
    pub name: &'static str,
    /// How it fares, by wood stage.
    pub natures: &'static [Nature],
}

const fn soft(strike: f64, days: [f64; 3], sizes: &'static [u32], ppm: f64) -> Nature {
    nature(Wood::Softwood, strike, days, sizes, ppm)
}

const fn semi(strike: f64, days: [f64; 3], sizes: &'static [u32], ppm: f64) -> Nature {
    nature(Wood::SemiRipe, strike, days, sizes, ppm)
}

const fn hard(strike: f64, days: [f64; 3], sizes: &'static [u32], ppm: f64) -> Nature {
    nature(Wood::Hardwood, strike, days, sizes, ppm)
}

const fn nature(
    wood: Wood,
    strike: f64,
    days: [f64; 3],
    sizes: &'static [u32],
    ppm: f64,
) -> Nature {
    let [callus_days, root_days, bottom_days] = days;
    Nature {
        wood,
        strike,
        callus_days,
        root_days,
        bottom_days,
        sizes,
        ppm,
    }
}

/// The plants. The figures are the invention of this project, of the order that the trade knows:
/// softwood three to six weeks, semi-ripe longer, broad-leaved evergreens longest.
pub const PLANTS: [Plant; 20] = [
    Plant {
        name: "Escallonia 'Apple Court'",
        natures: &[
            soft(0.55, [11.0, 13.0, 12.0], &[48, 48], 1000.0),
            semi(0.88, [15.0, 17.0, 14.0], &[60, 60], 3000.0),
        ],
    },
    Plant {
        name: "Lavandula angustifolia",
        natures: &[
            soft(0.82, [9.0, 10.0, 11.0], &[72, 72], 0.0),
            semi(0.60, [13.0, 16.0, 14.0], &[72, 48], 0.0),
        ],
    },
    Plant {
        name: "Lavandula ×intermedia",
        natures: &[semi(0.74, [12.0, 14.0, 13.0], &[72], 1000.0)],
    },
    Plant {
        name: "Philadelphus coronarius",
        natures: &[
            soft(0.86, [10.0, 11.0, 12.0], &[60, 40], 1000.0),
            semi(0.84, [11.0, 13.0, 12.0], &[60, 40], 1000.0),
        ],
    },
    Plant {
        name: "Weigela florida",
        natures: &[
            soft(0.92, [8.0, 10.0, 9.0], &[24, 48], 3000.0),
            semi(0.91, [10.0, 13.0, 11.0], &[48, 24], 3000.0),
        ],
    },
    Plant {
        name: "Ceanothus 'Slate Roof'",
        natures: &[
            soft(0.42, [14.0, 18.0, 15.0], &[60, 40], 1000.0),
            semi(0.68, [18.0, 22.0, 17.0], &[60, 40], 3000.0),
        ],
    },
    Plant {
        name: "Viburnum tinus",
        natures: &[semi(0.78, [20.0, 24.0, 18.0], &[48], 3000.0)],
    },
    Plant {
        name: "Viburnum ×bodnantense",
        natures: &[soft(0.64, [12.0, 15.0, 14.0], &[36], 3000.0)],
    },
    Plant {
        name: "Cistus ×purpureus",
        natures: &[semi(0.80, [13.0, 15.0, 13.0], &[48], 0.0)],
    },
    Plant {
        name: "Hebe 'Tin Bath'",
        natures: &[
            soft(0.90, [9.0, 9.0, 10.0], &[40], 0.0),
            semi(0.93, [10.0, 11.0, 11.0], &[60], 0.0),
        ],
    },
    Plant {
        name: "Camellia japonica",
        natures: &[semi(0.66, [28.0, 34.0, 26.0], &[60], 3000.0)],
    },
    Plant {
        name: "Camellia ×williamsii",
        natures: &[semi(0.72, [26.0, 32.0, 24.0], &[40], 3000.0)],
    },
    Plant {
        name: "Buddleja davidii",
        natures: &[
            soft(0.95, [6.0, 8.0, 8.0], &[48], 0.0),
            hard(0.80, [22.0, 28.0, 20.0], &[60], 0.0),
        ],
    },
    Plant {
        name: "Choisya ternata",
        natures: &[semi(0.85, [14.0, 18.0, 15.0], &[72], 1000.0)],
    },
    Plant {
        name: "Pittosporum tenuifolium",
        natures: &[semi(0.58, [22.0, 27.0, 20.0], &[60], 8000.0)],
    },
    Plant {
        name: "Hydrangea paniculata",
        natures: &[soft(0.88, [9.0, 11.0, 10.0], &[48], 1000.0)],
    },
    Plant {
        name: "Salvia microphylla",
        natures: &[soft(0.94, [6.0, 7.0, 8.0], &[40], 0.0)],
    },
    Plant {
        name: "Fuchsia magellanica",
        natures: &[soft(0.96, [5.0, 7.0, 8.0], &[40], 0.0)],
    },
    Plant {
        name: "Elaeagnus ×submacrophylla",
        natures: &[semi(0.52, [24.0, 30.0, 22.0], &[48], 8000.0)],
    },
    Plant {
        name: "Osmanthus ×burkwoodii",
        natures: &[semi(0.63, [26.0, 33.0, 24.0], &[48], 3000.0)],
    },
];

/// How far batches of one taxon and wood stage differ in strike: intra-class correlation.
pub const SPREAD: f64 = 0.05;
/// Spread of one cutting's days about the median: standard deviation of the logarithm.
pub const DAYS_SPREAD: f64 = 0.22;
/// Spread of a whole batch's days about the median, likewise.
pub const BATCH_DAYS_SPREAD: f64 = 0.08;

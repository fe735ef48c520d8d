//! Tests of counts by arm: every row on Fisher, Cochran–Mantel–Haenszel, beta-binomial, permutation.

use struck::stats::clusters::{Cluster, common_rho, spread, within_groups};
use struck::stats::permute::{Replicate, Studentised};
use struck::stats::tables;
use struck::stats::tables::Table2x2;
use struck::stats::tables::{WholeTable, fisher_exact};

use super::published::{Row, rows, run, table};
use super::{assert_close, seeded};

/// The 2×2 tables of a stratified data file: rows are arms, columns reached and not.
pub fn strata(name: &str) -> Vec<Table2x2> {
    let stratum = |r: &std::collections::BTreeMap<String, String>| {
        let cell = |key: &str| r[key].parse::<f64>().unwrap();
        Table2x2 {
            yes: [cell("a11"), cell("a21")],
            no: [cell("a12"), cell("a22")],
        }
    };
    table(name).iter().map(stratum).collect()
}

/// Replicates of the two data sets of clusters, with the text of their treatment.
fn clusters(dataset: &str) -> Vec<(String, Cluster)> {
    let number = |text: &String| text.parse::<u32>().unwrap();
    if dataset.starts_with("orobanche") {
        let plate = |r: &std::collections::BTreeMap<String, String>| {
            let cluster = Cluster {
                reached: number(&r["y"]),
                of: number(&r["n"]),
            };
            (format!("{} {}", r["seed"], r["root"]), cluster)
        };
        table("orobanche_germination").iter().map(plate).collect()
    } else {
        let replicate = |r: &std::collections::BTreeMap<String, String>| {
            let reached = number(&r["root"]);
            let of = reached + number(&r["noroot"]);
            (format!("IBA={}", r["IBA"]), Cluster { reached, of })
        };
        table("rooting_cuttings_age5")
            .iter()
            .map(replicate)
            .collect()
    }
}

fn fisher(row: &Row) -> bool {
    let Some(side) = row.quantity.strip_prefix("fisher_p_") else {
        return false;
    };
    let cells: Vec<u32> = row.arg.split(' ').map(|n| n.parse().unwrap()).collect();
    let [a, b, c, d] = cells[..] else {
        panic!("{row:?}");
    };
    // The cells run along the rows of the table, a row an arm.
    let tested = fisher_exact(WholeTable {
        yes: [a, c],
        no: [b, d],
    });
    row.check(match side {
        "two.sided" => tested.p,
        "less" => tested.p_less,
        "greater" => tested.p_greater,
        _ => panic!("{row:?}"),
    });
    true
}

fn mantel_haenszel(row: &Row) -> bool {
    let test =
        |corrected| tables::cochran_mantel_haenszel(&strata(&row.dataset), corrected).unwrap();
    let odds = || tables::odds_ratio(&strata(&row.dataset), 0.95).unwrap();
    row.check(match row.quantity.as_str() {
        "cmh_chisq_cc" => test(true).chi2,
        "cmh_p_cc" => test(true).p,
        "cmh_chisq_nocc" => test(false).chi2,
        "cmh_p_nocc" => test(false).p,
        "mh_common_OR" => odds().value,
        "mh_OR_lo95" => odds().interval.low,
        "mh_OR_hi95" => odds().interval.high,
        _ => return false,
    });
    true
}

fn spread_between_clusters(row: &Row) -> bool {
    if row.group.is_empty() {
        return false;
    }
    let group: Vec<Cluster> = clusters(&row.dataset)
        .into_iter()
        .filter(|(treatment, _)| row.group == "pooled" || *treatment == row.group)
        .map(|(_, cluster)| cluster)
        .collect();
    let spread = || spread(&group).unwrap();
    row.check(match row.quantity.as_str() {
        "betabin_rho_icc" => common_rho(std::slice::from_ref(&group)).unwrap(),
        "icc_anova" => spread().icc,
        "pearson_chisq_homogeneity" => spread().chi2,
        "dispersion_chisq_over_df" => spread().dispersion(),
        _ => return false,
    });
    true
}

/// The two arms of a comparison of whole clusters, as one stratum.
fn arms(row: &Row, mean_of_shares: bool) -> Vec<Replicate> {
    let [first, second] = match row.dataset.as_str() {
        "orobanche_O75_bean_vs_cucumber" => ["O75 BEAN", "O75 CUCUMBER"],
        "orobanche_O73_bean_vs_cucumber" => ["O73 BEAN", "O73 CUCUMBER"],
        "rooting_cuttings_age5_IBA0_vs_0.5" => ["IBA=0", "IBA=0.5"],
        "rooting_cuttings_age5_IBA0_vs_2" => ["IBA=0", "IBA=2"],
        _ => panic!("{row:?}"),
    };
    clusters(&row.dataset)
        .into_iter()
        .filter(|(treatment, _)| treatment == first || treatment == second)
        .map(|(treatment, cluster)| {
            let (reached, of) = (f64::from(cluster.reached), f64::from(cluster.of));
            Replicate {
                arm: u8::from(treatment == second),
                sum: if mean_of_shares {
                    reached / of
                } else {
                    reached
                },
                weight: if mean_of_shares { 1.0 } else { of },
            }
        })
        .collect()
}

/// Whether replicates are of one size, as many in either arm.
fn are_alike(replicates: &[Replicate]) -> bool {
    let first = replicates.iter().filter(|it| it.arm == 0).count();
    let one_size = replicates
        .iter()
        .all(|it| it.weight == replicates[0].weight);
    one_size && 2 * first == replicates.len()
}

fn permutation(row: &Row) -> bool {
    let Some(rest) = row.quantity.strip_prefix("clusterperm_diff_") else {
        return false;
    };
    let (mean, what) = match rest.strip_prefix("mean_prop") {
        Some(what) => (true, what),
        None => (false, rest.strip_prefix("pooled").unwrap()),
    };
    let replicates = arms(row, mean);
    let test = Studentised::new(std::slice::from_ref(&replicates), seeded(1)).unwrap();
    let tested = test.permuted();
    match what {
        "" => row.check(test.difference()),
        // Studentising changes nothing where replicates are of one size and arms of one number.
        "_p_two_sided_abs" if are_alike(&replicates) => row.check(tested.p),
        _ => return false,
    }
    if let Ok(all) = row.arg.parse::<usize>() {
        assert_eq!((tested.arrangements, tested.exact), (all, true));
    }
    true
}

#[test]
fn every_published_row_of_counts_is_met() {
    let all = rows("expected_counts_tests");
    let conditional = "the conditional odds ratio is not shown; Mantel and Haenszel's is";
    let unlike = "of unlike arms or sizes the published p is of the plain difference, ours of the studentised";
    let fitted = "of a fitted beta-binomial only the correlation is shown";
    let skipped = [
        ("fisher_cond_OR", conditional),
        ("fisher_cond_OR_lo95", conditional),
        ("fisher_cond_OR_hi95", conditional),
        (
            "cmh_exact_p",
            "the exact form is not shown; whole replicates are permuted instead",
        ),
        ("clusterperm_diff_mean_prop_p_two_sided_abs", unlike),
        ("clusterperm_diff_pooled_p_two_sided_abs", unlike),
        ("betabin_mu", fitted),
        ("betabin_loglik_with_choose", fitted),
        ("binomial_loglik_with_choose", fitted),
        ("betabin_alpha", fitted),
        ("betabin_beta", fitted),
        (
            "clusterperm_diff_mean_prop_p_greater",
            "one-sided p is not shown",
        ),
        (
            "clusterperm_diff_pooled_p_greater",
            "one-sided p is not shown",
        ),
    ];
    let checked = run(&all, &skipped, |row| {
        fisher(row) || mantel_haenszel(row) || permutation(row) || spread_between_clusters(row)
    });
    // Left: three rows for each of five tables of Fisher's, one for each of four stratified tables; eight one-sided,
    // three of unlike arms or sizes; five of each of nine fits.
    assert_eq!((checked, all.len()), (167 - 15 - 4 - 8 - 3 - 45, 167));
}

#[test]
fn pooled_differences_of_shares_are_met() {
    // Computed in R 4.2.2 from the formulas of Mantel & Haenszel and Greenland & Robins 1985.
    let plum = strata("plum_cuttings_time_by_alive");
    let pooled = tables::risk_difference(&plum, 0.95, 1.0).unwrap();
    assert_close(pooled.value, 0.3083333, 5e-8);
    assert_close(pooled.standard_error, 0.0291288, 5e-8);
    assert_eq!((pooled.strata, pooled.total), (2, 960.0));
    let rooting = strata("rooting_cuttings_age5_cmh_IBA0_vs_0.5_strata_position");
    let pooled = tables::risk_difference(&rooting, 0.95, 1.0).unwrap();
    assert_close(pooled.value, -0.3020833, 5e-8);
    let wider = tables::risk_difference(&rooting, 0.95, 4.0).unwrap();
    assert_close(wider.standard_error, 2.0 * pooled.standard_error, 1e-12);
}

#[test]
fn homogeneity_is_cochrans_q() {
    // By hand for the plum cuttings: differences 0.3 and 76/240, variances from 156/240 and so on.
    let plum = strata("plum_cuttings_time_by_alive");
    let tested = tables::homogeneity(&plum, 1.0).unwrap();
    let variance = |p: f64, q: f64| (p * (1.0 - p) + q * (1.0 - q)) / 240.0;
    let first = variance(156.0 / 240.0, 84.0 / 240.0);
    let second = variance(107.0 / 240.0, 31.0 / 240.0);
    let q = (0.3f64 - 76.0 / 240.0).powi(2) / (first + second);
    assert_close(tested.chi2, q, 1e-12);
    assert_eq!((tested.df, tested.strata), (1, 2));
    assert!(tested.p > 0.7);
    assert_eq!(tables::homogeneity(&plum[..1], 1.0), None);
}

#[test]
fn one_batch_a_cell_cannot_settle_anything() {
    // Bartlett's plum cuttings: one batch of 240 a cell, two strata: four arrangements, p = 0.5.
    let plum = strata("plum_cuttings_time_by_alive");
    let batches = |s: &Table2x2| {
        let one = |arm: u8| Replicate {
            arm,
            sum: s.yes[usize::from(arm)],
            weight: 240.0,
        };
        vec![one(0), one(1)]
    };
    let trial: Vec<_> = plum.iter().map(batches).collect();
    let test = Studentised::new(&trial, seeded(1)).unwrap();
    let tested = test.permuted();
    assert_eq!((tested.p, tested.smallest_p), (0.5, 0.5));
    assert_eq!((tested.arrangements, tested.exact), (4, true));
    assert_close(test.difference(), 0.3083333, 5e-8);
}

/// The clusters of a data file, those alike in these columns together: how many reached, out of the sum of
/// the columns `of`.
fn groups(name: &str, alike: [&str; 2], reached: &str, of: &[&str]) -> Vec<Vec<Cluster>> {
    let mut groups: std::collections::BTreeMap<[String; 2], Vec<Cluster>> = Default::default();
    for r in table(name) {
        let number = |key: &str| r[key].parse::<u32>().unwrap();
        let cluster = Cluster {
            reached: number(reached),
            of: of.iter().map(|key| number(key)).sum(),
        };
        let group = groups.entry(alike.map(|key| r[key].clone())).or_default();
        group.push(cluster);
    }
    groups.into_values().collect()
}

/// Computed with scipy 1.17.1 (`betabinom.logpmf`, its profile over each group's share maximised by
/// `minimize_scalar`) and statsmodels 0.15.0 (`ols` of single outcomes on clusters and on groups: mean
/// squares between clusters within groups, and within clusters), on Crowder's (1978) plates, four groups
/// of seed and root, and on the rooting cuttings, six groups of position and IBA.
#[test]
fn the_correlation_that_groups_share_is_that_of_reference_libraries() {
    let plates = groups("orobanche_germination", ["seed", "root"], "y", &["n"]);
    assert_eq!(plates.len(), 4);
    assert_close(common_rho(&plates).unwrap(), 0.012_360_891, 1e-6);
    assert_close(within_groups(&plates).unwrap(), 0.023_775_871_6, 1e-9);
    let alike = ["Position", "IBA"];
    let cuttings = groups("rooting_cuttings_age5", alike, "root", &["root", "noroot"]);
    assert_eq!(cuttings.len(), 6);
    assert_close(common_rho(&cuttings).unwrap(), 0.080_083_618, 1e-6);
    assert_close(within_groups(&cuttings).unwrap(), 0.138_409_821_7, 1e-9);
}

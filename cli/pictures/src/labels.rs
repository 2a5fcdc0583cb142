//! Labels that do not overlap: along one row or column, and in rows joined to their places by leaders.

/// Centres closest to the wanted ones (least squares) that keep their order, `gap` apart, between `low` and `high`.
///
/// The wanted centres must rise. Substituting the room taken by the labels before it turns the problem into isotonic
/// regression, solved by pooling adjacent violators (Barlow, Bartholomew, Bremner & Brunk, "Statistical inference under
/// order restrictions", 1972; from memory, not checked). What does not fit is packed evenly, overlapping.
pub fn spread(wanted: &[f64], sizes: &[f64], gap: f64, low: f64, high: f64) -> Vec<f64> {
    let taken = total(sizes, gap);
    let squeeze = if taken > high - low { (high - low) / taken } else { 1.0 };
    let mut offset = 0.0;
    let offsets: Vec<f64> = sizes
        .iter()
        .enumerate()
        .map(|(i, size)| {
            if i > 0 {
                offset += squeeze * ((sizes[i - 1] + size) / 2.0 + gap);
            }
            offset
        })
        .collect();
    // Pools of neighbours that touch: (sum of shifted wishes, count).
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (wish, offset) in wanted.iter().zip(&offsets) {
        pools.push((wish - offset, 1));
        while let [.., before, last] = pools[..] {
            if before.0 / before.1 as f64 <= last.0 / last.1 as f64 {
                break;
            }
            pools.truncate(pools.len() - 2);
            pools.push((before.0 + last.0, before.1 + last.1));
        }
    }
    let first = low + squeeze * sizes.first().map_or(0.0, |size| size / 2.0);
    let last = high - squeeze * sizes.last().map_or(0.0, |size| size / 2.0) - offsets.last().copied().unwrap_or(0.0);
    let shifted = pools.iter().flat_map(|&(sum, count)| std::iter::repeat_n(sum / count as f64, count));
    shifted.zip(&offsets).map(|(centre, offset)| centre.min(last).max(first) + offset).collect()
}

/// Room that labels take in a row, gaps between them included.
fn total(sizes: &[f64], gap: f64) -> f64 {
    sizes.iter().sum::<f64>() + gap * sizes.len().saturating_sub(1) as f64
}

/// Where a label stands: its row, counted from the plot outward, and the path of its leader through the rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Flag {
    /// Row, 0 nearest to the plot.
    pub row: usize,
    /// Where the leader passes each row up to its own; the last one is the label's centre.
    pub path: Vec<f64>,
}

/// Leaders need this much room between labels of a lower row, px.
const LEADER: f64 = 8.0;

/// Puts labels with rising anchors into as few rows as needed, at most `most`; none when they do not fit.
///
/// Row by row, leaders of labels in the rows beyond pass between the labels, in order: no leader crosses a label or
/// another leader.
pub fn flags(anchors: &[f64], widths: &[f64], gap: f64, low: f64, high: f64, most: usize) -> Option<Vec<Flag>> {
    let mut fitting = None;
    for rows in 1..=most {
        let Some(placed) = in_rows(anchors, widths, gap, low, high, rows) else { continue };
        let farthest = placed
            .iter()
            .zip(anchors)
            .map(|(flag, anchor)| (flag.path.last().copied().unwrap_or(*anchor) - anchor).abs())
            .fold(0.0, f64::max);
        fitting = Some(placed);
        // A label far from its place is hard to follow: another row is better.
        if farthest < 0.12 * (high - low) {
            break;
        }
    }
    fitting
}

fn in_rows(anchors: &[f64], widths: &[f64], gap: f64, low: f64, high: f64, rows: usize) -> Option<Vec<Flag>> {
    let mut flags: Vec<Flag> = (0..anchors.len()).map(|i| Flag { row: i % rows, path: Vec::new() }).collect();
    let mut passing: Vec<usize> = (0..anchors.len()).collect();
    let mut wishes: Vec<f64> = anchors.to_vec();
    for row in 0..rows {
        let sizes: Vec<f64> = passing.iter().map(|&i| if flags[i].row == row { widths[i] } else { LEADER }).collect();
        if total(&sizes, gap) > high - low {
            return None;
        }
        let wanted: Vec<f64> = passing.iter().map(|&i| wishes[i]).collect();
        for (&i, centre) in passing.iter().zip(spread(&wanted, &sizes, gap, low, high)) {
            flags[i].path.push(centre);
            wishes[i] = centre;
        }
        passing.retain(|&i| flags[i].row > row);
    }
    Some(flags)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn labels_with_room_stay_where_they_want_to_be() {
        assert_eq!(spread(&[10.0, 50.0, 90.0], &[20.0; 3], 5.0, 0.0, 100.0), [10.0, 50.0, 90.0]);
    }

    #[test]
    fn crowded_labels_part_evenly_about_their_places() {
        assert_eq!(spread(&[50.0, 50.0, 50.0], &[20.0; 3], 5.0, 0.0, 100.0), [25.0, 50.0, 75.0]);
    }

    #[test]
    fn labels_stay_inside() {
        let centres = spread(&[1.0, 2.0, 99.0], &[20.0; 3], 5.0, 0.0, 100.0);
        assert_eq!(centres, [10.0, 35.0, 90.0]);
    }

    #[test]
    fn too_many_labels_are_packed_evenly_and_stay_inside() {
        let centres = spread(&[50.0; 10], &[20.0; 10], 0.0, 0.0, 100.0);
        for (i, centre) in centres.iter().enumerate() {
            assert!((centre - (5.0 + 10.0 * i as f64)).abs() < 1e-9, "{centres:?}");
        }
    }

    #[test]
    fn labels_that_fit_one_row_take_one_row() {
        let flags = flags(&[10.0, 90.0], &[20.0, 20.0], 4.0, 0.0, 100.0, 3).unwrap();
        assert!(flags.iter().all(|flag| flag.row == 0));
    }

    #[test]
    fn in_any_row_labels_and_passing_leaders_keep_clear_of_each_other() {
        let anchors = [10.0, 11.0, 12.0, 13.0, 14.0, 200.0];
        let widths = [80.0; 6];
        let flags = flags(&anchors, &widths, 4.0, 0.0, 300.0, 3).unwrap();
        for row in 0..3 {
            let taken: Vec<[f64; 2]> = flags
                .iter()
                .filter(|flag| flag.row >= row)
                .map(|flag| {
                    let half = if flag.row == row { 40.0 } else { 0.0 };
                    [flag.path[row] - half, flag.path[row] + half]
                })
                .collect();
            assert!(taken.windows(2).all(|pair| pair[0][1] < pair[1][0]), "row {row}: {taken:?}");
        }
    }

    #[test]
    fn labels_wider_than_all_rows_do_not_fit() {
        assert_eq!(flags(&[10.0; 4], &[90.0; 4], 4.0, 0.0, 100.0, 3), None);
    }

    #[test]
    fn no_labels_take_no_room() {
        assert!(spread(&[], &[], 4.0, 0.0, 100.0).is_empty());
        assert_eq!(flags(&[], &[], 4.0, 0.0, 100.0, 3), Some(Vec::new()));
    }
}

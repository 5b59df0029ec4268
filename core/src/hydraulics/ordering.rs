//! The order in which unknowns are eliminated: least degree first, so that leaves and chains go before loops and a tree needs no
//! fill. Only the pattern is known here, no numbers.

/// An elimination order and the pattern of the factor that it gives.
pub(crate) struct Elimination {
    /// Nodes in the order of elimination.
    pub order: Vec<u32>,
    /// For each eliminated node, in that order, the nodes that are still there and joined to it.
    pub columns: Vec<Vec<u32>>,
}

/// Eliminates the node of least degree until none is left. Ties go to the node whose degree fell last, at the start to the
/// node of least index: along a lateral this walks from its end to its header.
///
/// Neighbours are joined to each other explicitly, which is quick while fronts stay small (trees and yard loops) and bearable on a
/// full mesh. A pair out of range or of one node is ignored.
pub(crate) fn minimum_degree(num_nodes: usize, pairs: &[(usize, usize)]) -> Elimination {
    let mut neighbours: Vec<Vec<u32>> = vec![Vec::new(); num_nodes];
    for &(a, b) in pairs {
        if a != b
            && a < num_nodes
            && b < num_nodes
            && let (Ok(small_a), Ok(small_b)) = (u32::try_from(a), u32::try_from(b))
        {
            neighbours[a].push(small_b);
            neighbours[b].push(small_a);
        }
    }
    for list in &mut neighbours {
        list.sort_unstable();
        list.dedup();
    }
    let mut degree: Vec<usize> = neighbours.iter().map(Vec::len).collect();
    let mut gone = vec![false; num_nodes];
    // Stacks by degree; an entry counts only while the degree of its node is still that of the stack.
    let mut stacks: Vec<Vec<u32>> = vec![Vec::new(); num_nodes + 1];
    for node in (0..num_nodes).rev() {
        if let Ok(small) = u32::try_from(node) {
            stacks[degree[node]].push(small);
        }
    }
    let mut elimination = Elimination {
        order: Vec::with_capacity(num_nodes),
        columns: Vec::with_capacity(num_nodes),
    };
    let mut merged: Vec<u32> = Vec::new();
    let mut least = 0;
    // Proof for the indices: nodes come from 0..num_nodes only, and a degree is below num_nodes.
    while elimination.order.len() < num_nodes && least < stacks.len() {
        let Some(node) = stacks[least].pop() else {
            least += 1;
            continue;
        };
        let v = node as usize;
        if gone[v] || degree[v] != least {
            continue;
        }
        gone[v] = true;
        let mut front = std::mem::take(&mut neighbours[v]);
        front.retain(|u| !gone[*u as usize]);
        for &u in &front {
            let u = u as usize;
            if front.len() == 1 {
                // A leaf joins nobody: its parent's list is cleaned when it is next used.
                degree[u] -= 1;
            } else {
                merge(&neighbours[u], &front, u, &gone, &mut merged);
                std::mem::swap(&mut neighbours[u], &mut merged);
                degree[u] = neighbours[u].len();
            }
            least = least.min(degree[u]);
            if let Ok(small) = u32::try_from(u) {
                stacks[degree[u]].push(small);
            }
        }
        elimination.order.push(node);
        elimination.columns.push(front);
    }
    elimination
}

/// The sorted union of two sorted lists without `own` and without what is gone.
fn merge(list: &[u32], front: &[u32], own: usize, gone: &[bool], merged: &mut Vec<u32>) {
    merged.clear();
    let (mut i, mut j) = (0, 0);
    loop {
        let next = match (list.get(i), front.get(j)) {
            (Some(&a), Some(&b)) => {
                i += usize::from(a <= b);
                j += usize::from(b <= a);
                a.min(b)
            }
            (Some(&a), None) => {
                i += 1;
                a
            }
            (None, Some(&b)) => {
                j += 1;
                b
            }
            (None, None) => return,
        };
        if next as usize != own && !gone[next as usize] {
            merged.push(next);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fill(num_nodes: usize, pairs: &[(usize, usize)]) -> usize {
        let elimination = minimum_degree(num_nodes, pairs);
        let mut order = elimination.order.clone();
        order.sort_unstable();
        assert!(
            order
                .iter()
                .enumerate()
                .all(|(i, node)| i == *node as usize)
        );
        elimination.columns.iter().map(Vec::len).sum()
    }

    #[test]
    fn a_tree_needs_no_fill() {
        let pairs: Vec<_> = (1..500).map(|i| (i, (i - 1) / 3)).collect();
        assert_eq!(fill(500, &pairs), 499);
    }

    #[test]
    fn a_star_with_many_leaves_needs_no_fill() {
        let pairs: Vec<_> = (1..5000).map(|i| (0, i)).collect();
        assert_eq!(fill(5000, &pairs), 4999);
    }

    #[test]
    fn a_ring_fills_one_entry_per_elimination_at_most() {
        let pairs: Vec<_> = (0..100).map(|i| (i, (i + 1) % 100)).collect();
        assert!(fill(100, &pairs) <= 2 * 100);
    }

    #[test]
    fn nonsense_pairs_are_ignored() {
        assert_eq!(fill(3, &[(0, 0), (1, 9), (1, 2), (2, 1)]), 1);
        assert_eq!(fill(0, &[]), 0);
    }
}

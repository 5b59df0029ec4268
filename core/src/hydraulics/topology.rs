//! How the junctions of a network hang together: what can be folded leaf by leaf, and the looped core that is left. Only ends of links
//! are known here, no numbers, so it is kept from solve to solve.

use super::ldl::Symbolic;
use super::network::Network;

/// No link, no special: a position that does not exist.
pub(crate) const NONE: u32 = u32::MAX;

/// The junctions in the order of elimination.
///
/// A *place* is the position of a junction in that order: first the core, ordered for a sparse factorisation, then the forest,
/// nearest to the core first, so that a parent's place is always below its children's and the children of one parent stand together.
/// Links are numbered anew as well: that of a forest place to its parent has the number of the place, those of the core follow.
/// A network without loops has a core of one junction for each connected part, and of the ways between its sources.
#[derive(Clone, Debug)]
pub(crate) struct Topology {
    num_junctions: usize,
    ends: Vec<(usize, usize)>,
    sources: Vec<usize>,
    place_of_node: Vec<u32>,
    num_core: usize,
    parent: Vec<u32>,
    /// First child of each place; one more than places.
    first_child: Vec<u32>,
    core: Symbolic,
    core_links: Vec<CoreLink>,
    /// Core links at each core place: starts, then positions.
    core_start: Vec<u32>,
    core_at: Vec<u32>,
    /// Number of each link of the network, `NONE` where it joins nothing, and whether it keeps its direction.
    home: Vec<(u32, bool)>,
}

/// A link within the core.
#[derive(Clone, Copy, Debug)]
pub(crate) struct CoreLink {
    pub a: u32,
    pub b: u32,
    /// Entry of the matrix that joins its ends.
    pub slot: u32,
}

// Proof for the indices of this file: places come from `order`, a permutation of the junctions; a link is used only after both
// its ends were found below the number of junctions; starts ascend to the length of what they divide.

impl Topology {
    /// Finds the order of elimination. A link to no junction, or from a junction to itself, is left out.
    pub fn new(network: &Network) -> Self {
        let n = network.junctions.len();
        let ends: Vec<_> = network
            .links
            .iter()
            .map(|link| (link.from, link.to))
            .collect();
        let sources: Vec<_> = network
            .sources
            .iter()
            .map(|source| source.junction)
            .collect();
        let up = strip(n, &ends, &sources);
        // The core in the order of its factorisation.
        let mut local = vec![NONE; n];
        let mut num_core = 0;
        for (node, (parent, _)) in up.iter().enumerate() {
            if *parent == NONE {
                local[node] = small(num_core);
                num_core += 1;
            }
        }
        let in_core = |&(a, b): &(usize, usize)| {
            a < n && b < n && a != b && local[a] != NONE && local[b] != NONE
        };
        let pairs: Vec<_> = ends
            .iter()
            .filter(|pair| in_core(pair))
            .map(|&(a, b)| (local[a] as usize, local[b] as usize))
            .collect();
        let core = Symbolic::new(num_core, &pairs);
        let mut order = vec![0_u32; num_core];
        for (node, local) in local.iter().enumerate() {
            if let Some(place) = core.place(*local as usize) {
                order[place as usize] = small(node);
            }
        }
        // Then its children, theirs, and so on.
        let mut child_start = vec![0_u32; n + 1];
        for (parent, _) in up.iter().filter(|(parent, _)| *parent != NONE) {
            child_start[*parent as usize + 1] += 1;
        }
        let child_at = divide(&mut child_start, |put| {
            for (node, (parent, _)) in up.iter().enumerate() {
                if *parent != NONE {
                    put(*parent as usize, small(node));
                }
            }
        });
        let mut parent: Vec<u32> = (0..num_core).map(small).collect();
        let mut first_child = Vec::with_capacity(n + 1);
        let mut place = 0;
        while let Some(node) = order.get(place) {
            first_child.push(small(order.len()));
            let node = *node as usize;
            let children = &child_at[child_start[node] as usize..child_start[node + 1] as usize];
            order.extend_from_slice(children);
            parent.resize(order.len(), small(place));
            place += 1;
        }
        first_child.push(small(order.len()));
        let mut place_of_node = vec![0; n];
        for (place, node) in order.iter().enumerate() {
            place_of_node[*node as usize] = small(place);
        }
        let mut topology = Self {
            num_junctions: n,
            ends,
            sources,
            place_of_node,
            num_core,
            parent,
            first_child,
            core,
            core_links: Vec::with_capacity(pairs.len()),
            core_start: vec![0; num_core + 1],
            core_at: Vec::new(),
            home: Vec::new(),
        };
        topology.number_links(&up);
        topology
    }

    fn number_links(&mut self, up: &[(u32, u32)]) {
        let n = self.num_junctions;
        let mut home = Vec::with_capacity(self.ends.len());
        for (j, &(from, to)) in self.ends.iter().enumerate() {
            if from >= n || to >= n || from == to {
                home.push((NONE, true));
                continue;
            }
            let (a, b) = (self.place_of_node[from], self.place_of_node[to]);
            if up[from].1 == small(j) {
                home.push((a, false));
            } else if up[to].1 == small(j) {
                home.push((b, true));
            } else {
                home.push((small(n + self.core_links.len()), true));
                let slot = self.core.entry(a, b).unwrap_or(NONE);
                self.core_links.push(CoreLink { a, b, slot });
            }
        }
        self.home = home;
        let links = &self.core_links;
        for link in links {
            self.core_start[link.a as usize + 1] += 1;
            self.core_start[link.b as usize + 1] += 1;
        }
        self.core_at = divide(&mut self.core_start, |put| {
            for (position, link) in links.iter().enumerate() {
                put(link.a as usize, small(n + position));
                put(link.b as usize, small(n + position));
            }
        });
    }

    /// True where a network has the same junctions, ends of links and places of sources.
    pub fn fits(&self, network: &Network) -> bool {
        let links = network.links.iter().map(|link| (link.from, link.to));
        let sources = network.sources.iter().map(|source| source.junction);
        network.junctions.len() == self.num_junctions
            && links.eq(self.ends.iter().copied())
            && sources.eq(self.sources.iter().copied())
    }

    /// Ends of the links of the network.
    pub fn links(&self) -> &[(usize, usize)] {
        &self.ends
    }

    /// Number of places.
    pub fn num_places(&self) -> usize {
        self.num_junctions
    }

    /// Number of places of the core, which come first.
    pub fn num_core(&self) -> usize {
        self.num_core
    }

    /// Numbers of links run up to this; those below the number of core places are not used.
    pub fn num_links(&self) -> usize {
        self.num_junctions + self.core_links.len()
    }

    /// Place of a junction.
    pub fn place(&self, node: usize) -> Option<u32> {
        self.place_of_node.get(node).copied()
    }

    /// Places of all junctions.
    pub fn places(&self) -> &[u32] {
        &self.place_of_node
    }

    /// Parent of each place; of a core place itself.
    pub fn parents(&self) -> &[u32] {
        &self.parent
    }

    /// The pattern of the core's factor.
    pub fn core(&self) -> &Symbolic {
        &self.core
    }

    /// The links of the core, the first of which has the number of places for its number.
    pub fn core_links(&self) -> &[CoreLink] {
        &self.core_links
    }

    /// Number of each link of the network (`NONE`: it joins nothing), and whether it keeps its direction.
    pub fn homes(&self) -> &[(u32, bool)] {
        &self.home
    }

    /// Places of the ends of a link by number: parent and child, or those of the core link.
    pub fn ends(&self, link: usize) -> (usize, usize) {
        match link.checked_sub(self.num_junctions) {
            None => (self.parent[link] as usize, link),
            Some(position) => {
                let CoreLink { a, b, .. } = self.core_links[position];
                (a as usize, b as usize)
            }
        }
    }

    /// Numbers of the links at a place.
    pub fn links_at(&self, place: usize) -> impl Iterator<Item = usize> {
        let up = (place >= self.num_core).then_some(place);
        let down = self.first_child[place] as usize..self.first_child[place + 1] as usize;
        let core = if place < self.num_core {
            &self.core_at[self.core_start[place] as usize..self.core_start[place + 1] as usize]
        } else {
            &[]
        };
        up.into_iter()
            .chain(down)
            .chain(core.iter().map(|link| *link as usize))
    }
}

/// For each node that can be folded away leaf by leaf, the node it folds into and the link between them; `NONE` for the rest.
/// Sources stay, so that a tree is folded towards its source.
fn strip(num_nodes: usize, ends: &[(usize, usize)], sources: &[usize]) -> Vec<(u32, u32)> {
    let mut degree = vec![0_u32; num_nodes];
    // The exclusive or of the links at a node: what is left of it at degree one is the one link that is left.
    let mut mixed = vec![0_u32; num_nodes];
    for (j, &(a, b)) in ends.iter().enumerate() {
        if a != b && a < num_nodes && b < num_nodes {
            for node in [a, b] {
                degree[node] += 1;
                mixed[node] ^= small(j);
            }
        }
    }
    let mut keep = vec![false; num_nodes];
    for source in sources {
        if let Some(keep) = keep.get_mut(*source) {
            *keep = true;
        }
    }
    let mut up = vec![(NONE, NONE); num_nodes];
    for first in 0..num_nodes {
        let mut node = first;
        while degree[node] == 1 && !keep[node] {
            let link = mixed[node];
            let (a, b) = ends[link as usize];
            let parent = if a == node { b } else { a };
            up[node] = (small(parent), link);
            degree[node] = 0;
            degree[parent] -= 1;
            mixed[parent] ^= link;
            // Later nodes are reached by the loop.
            if parent > first {
                break;
            }
            node = parent;
        }
    }
    up
}

/// Fills a list divided by `starts`, whose entry k + 1 holds the number of items of k when called and the end of k when done.
fn divide(starts: &mut [u32], fill: impl FnOnce(&mut dyn FnMut(usize, u32))) -> Vec<u32> {
    for k in 1..starts.len() {
        starts[k] += starts[k - 1];
    }
    let mut next = starts.to_vec();
    let mut list = vec![0; starts.last().copied().unwrap_or(0) as usize];
    fill(&mut |k, item| {
        list[next[k] as usize] = item;
        next[k] += 1;
    });
    list
}

/// Counts of a plan stay far below 2³².
pub(crate) fn small(index: usize) -> u32 {
    u32::try_from(index).unwrap_or(u32::MAX)
}

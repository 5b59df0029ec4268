//! A network made ready for iterating: junctions numbered in the order of elimination, links and outlets as kernels, input without
//! sense set aside. No iteration happens here.

use super::friction::Curves;
use super::kernel::LinkKernel;
use super::ldl::Symbolic;
use super::network::{LinkKind, Network};
use super::outlets::OutletKernel;

/// No place in the matrix.
pub(crate) const NO_SLOT: u32 = u32::MAX;

/// A link between two places. Places from the number of junctions up are the far ends of supplies.
#[derive(Clone, Copy, Debug)]
pub(crate) struct CompiledLink {
    pub a: u32,
    pub b: u32,
    /// The entry of the matrix that joins its ends.
    pub slot: u32,
    pub kernel: LinkKernel,
}

/// An outlet at a place.
#[derive(Clone, Copy, Debug)]
pub(crate) struct CompiledOutlet {
    pub place: u32,
    pub level_m: f64,
    pub kernel: OutletKernel,
}

/// A link whose state depends on the solution.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Special {
    pub link: usize,
    pub a: usize,
    pub b: usize,
    pub opening_m: f64,
    /// Head a regulator holds at `b`; `None` for a check.
    pub set_head_m: Option<f64>,
}

/// How a source takes part.
#[derive(Clone, Copy, Debug)]
pub(crate) enum CompiledSource {
    /// A supply link, by position.
    Link(usize),
    /// It fixes the head of a place.
    Fixed(usize),
    /// Another source already fixes this place, or the input has no sense.
    Idle,
}

/// A network ready for iterating.
#[derive(Clone, Debug, Default)]
pub(crate) struct Compiled {
    pub num_junctions: usize,
    /// Links of the network, in its order, then one for each supply that has a loss.
    pub links: Vec<CompiledLink>,
    pub outlets: Vec<CompiledOutlet>,
    pub sources: Vec<CompiledSource>,
    pub specials: Vec<Special>,
    /// Position in `specials`, by link of the network; `NO_SLOT` for pipes and plain devices.
    pub special_of_link: Vec<u32>,
    /// Level of each place; for the far end of a supply its head.
    pub level_m: Vec<f64>,
    /// Whether a place has a fixed head, and which.
    pub fixed: Vec<bool>,
    pub fixed_head_m: Vec<f64>,
    /// Links at each place: starts, then positions.
    pub link_start: Vec<u32>,
    pub link_at: Vec<u32>,
    /// Flow of each link at the start of a cold solve.
    pub usual_flow_m3s: Vec<f64>,
    /// A junction of the network where the input has no sense.
    pub nonsense: Option<Option<usize>>,
    pub curves: Curves,
}

// Proof for the indices of this file: a place is below the number of junctions when it comes from `Symbolic::place`; the far
// ends of supplies are appended to every list of places before they are used.

impl Compiled {
    /// Takes over the numbers of a network whose topology is that of `symbolic`. Buffers and fits are kept.
    pub fn update(&mut self, network: &Network, symbolic: &Symbolic) {
        let n = symbolic.num_nodes();
        self.num_junctions = n;
        self.nonsense = None;
        for list in [&mut self.level_m, &mut self.fixed_head_m] {
            list.clear();
            list.resize(n, 0.0);
        }
        self.fixed.clear();
        self.fixed.resize(n, false);
        for (node, junction) in network.junctions.iter().enumerate() {
            let level_m = junction.level.metres();
            if let Some(place) = symbolic.place(node) {
                if level_m.is_finite() {
                    self.level_m[place as usize] = level_m;
                } else {
                    self.refuse(Some(node));
                }
            }
        }
        self.update_links(network, symbolic);
        self.update_outlets(network, symbolic);
        self.update_sources(network, symbolic);
        self.list_links_at_places();
    }

    fn refuse(&mut self, junction: Option<usize>) {
        if self.nonsense.is_none() {
            self.nonsense = Some(junction);
        }
    }

    fn update_links(&mut self, network: &Network, symbolic: &Symbolic) {
        self.links.clear();
        self.specials.clear();
        self.special_of_link.clear();
        self.usual_flow_m3s.clear();
        for link in &network.links {
            let mut special = NO_SLOT;
            let mut usual_m3s = 1e-4;
            let ends = symbolic.place(link.from).zip(symbolic.place(link.to));
            let compiled = match ends {
                // Water does not flow in a link from a junction to itself.
                Some((a, b)) if a == b => blocked(a),
                Some((a, b)) => {
                    let kernel =
                        LinkKernel::new(&link.kind, network.water, network.law, &mut self.curves);
                    if kernel.is_none() {
                        self.refuse(Some(link.from));
                    }
                    let kernel = kernel.unwrap_or(LinkKernel::Blocked);
                    if let LinkKind::Pipe(pipe) = &link.kind {
                        // The flow at which the mean velocity is 0.3 m/s.
                        let bore_m = pipe.bore.metres();
                        usual_m3s = 0.3 * std::f64::consts::FRAC_PI_4 * bore_m * bore_m;
                    }
                    if !matches!(kernel, LinkKernel::Blocked) {
                        special = self.add_special(network, &link.kind, &kernel, a, b);
                    }
                    CompiledLink {
                        a,
                        b,
                        slot: symbolic.entry(a, b).unwrap_or(NO_SLOT),
                        kernel,
                    }
                }
                None => {
                    let known = [link.from, link.to]
                        .into_iter()
                        .find(|node| *node < self.num_junctions);
                    self.refuse(known);
                    blocked(0)
                }
            };
            self.links.push(compiled);
            self.special_of_link.push(special);
            self.usual_flow_m3s.push(usual_m3s);
        }
    }

    /// Registers a check or regulator and returns its position; `NO_SLOT` for other links.
    fn add_special(
        &mut self,
        network: &Network,
        kind: &LinkKind,
        kernel: &LinkKernel,
        a: u32,
        b: u32,
    ) -> u32 {
        let set_head_m = match kind {
            LinkKind::Regulator { set, .. } => {
                Some(self.level_m[b as usize] + network.water.head_of(*set).metres())
            }
            LinkKind::Device(loss) if loss.lets_nothing_back() => None,
            LinkKind::Device(_) | LinkKind::Pipe(_) | LinkKind::Closed => return NO_SLOT,
        };
        self.specials.push(Special {
            link: self.links.len(),
            a: a as usize,
            b: b as usize,
            opening_m: kernel.opening_m(),
            set_head_m,
        });
        small(self.specials.len() - 1)
    }

    fn update_outlets(&mut self, network: &Network, symbolic: &Symbolic) {
        self.outlets.clear();
        for outlet in &network.outlets {
            let place = symbolic.place(outlet.junction);
            let kernel = OutletKernel::new(&outlet.law, network.water);
            if place.is_none() || kernel.is_none() {
                self.refuse(place.map(|_| outlet.junction));
            }
            // An outlet without place only keeps the numbering; it gives nothing.
            let kernel = kernel.filter(|_| place.is_some());
            let place = place.unwrap_or(0);
            self.outlets.push(CompiledOutlet {
                place,
                level_m: self.level_m.get(place as usize).copied().unwrap_or(0.0),
                kernel: kernel.unwrap_or(OutletKernel::Fixed(0.0)),
            });
        }
        if self.num_junctions == 0 {
            self.outlets.clear();
        }
    }

    fn update_sources(&mut self, network: &Network, symbolic: &Symbolic) {
        self.sources.clear();
        for source in &network.sources {
            let found = symbolic
                .place(source.junction)
                .zip(LinkKernel::supply(&source.curve, network.water));
            let Some((place, kernel)) = found else {
                let known = (source.junction < self.num_junctions).then_some(source.junction);
                self.refuse(known);
                self.sources.push(CompiledSource::Idle);
                continue;
            };
            let at = place as usize;
            let head_m = self.level_m[at] + network.water.head_of(source.curve.at_rest).metres();
            let compiled = if let Some(kernel) = kernel {
                let far_end = small(self.level_m.len());
                self.level_m.push(head_m);
                self.fixed.push(true);
                self.fixed_head_m.push(head_m);
                self.links.push(CompiledLink {
                    a: far_end,
                    b: place,
                    slot: NO_SLOT,
                    kernel,
                });
                self.usual_flow_m3s
                    .push(source.curve.test_flow.cubic_metres_per_second());
                CompiledSource::Link(self.links.len() - 1)
            } else if self.fixed[at] {
                // Two fixed pressures at one junction: the same twice is idle, two different ones have no sense.
                if (self.fixed_head_m[at] - head_m).abs() > 1e-9 {
                    self.refuse(Some(source.junction));
                }
                CompiledSource::Idle
            } else {
                self.fixed[at] = true;
                self.fixed_head_m[at] = head_m;
                CompiledSource::Fixed(at)
            };
            self.sources.push(compiled);
        }
    }

    /// Lists the links at each place, by counting.
    fn list_links_at_places(&mut self) {
        let places = self.level_m.len();
        self.link_start.clear();
        self.link_start.resize(places + 1, 0);
        let usable = |link: &&CompiledLink| link.a != link.b;
        for link in self.links.iter().filter(usable) {
            self.link_start[link.a as usize + 1] += 1;
            self.link_start[link.b as usize + 1] += 1;
        }
        for place in 0..places {
            self.link_start[place + 1] += self.link_start[place];
        }
        self.link_at.clear();
        self.link_at.resize(self.link_start[places] as usize, 0);
        // Filling moves each start to the next one's; shifting them back by one restores them.
        for (position, link) in self.links.iter().enumerate() {
            if link.a != link.b {
                for end in [link.a as usize, link.b as usize] {
                    let slot = self.link_start[end] as usize;
                    self.link_at[slot] = small(position);
                    self.link_start[end] += 1;
                }
            }
        }
        for place in (0..places).rev() {
            self.link_start[place + 1] = self.link_start[place];
        }
        self.link_start[0] = 0;
    }

    /// Positions of the links at a place.
    pub fn links_at(&self, place: usize) -> &[u32] {
        let range = self.link_start[place] as usize..self.link_start[place + 1] as usize;
        &self.link_at[range]
    }
}

/// A link through which nothing flows.
fn blocked(place: u32) -> CompiledLink {
    CompiledLink {
        a: place,
        b: place,
        slot: NO_SLOT,
        kernel: LinkKernel::Blocked,
    }
}

/// Counts of a plan stay far below 2³².
fn small(index: usize) -> u32 {
    u32::try_from(index).unwrap_or(u32::MAX)
}

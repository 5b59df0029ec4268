//! A network made ready for iterating: links by number and outlets by place, sizes and laws in tables, input without sense set
//! aside. No iteration happens here.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::friction::{PipeRun, PipeSizes};
use super::kernel::LinkKernel;
use super::network::{LinkKind, Network};
use super::outlets::{OutletKernel, OutletLaw};
use super::topology::{NONE, Topology, small};

/// Codes of links from here up are devices; below it sizes of pipes. [`BLOCKED`] lets nothing through.
pub(crate) const DEVICE: u32 = 1 << 31;

/// The code of a link through which nothing flows.
pub(crate) const BLOCKED: u32 = u32::MAX;

/// A link that is no pipe.
#[derive(Clone, Debug)]
pub(crate) struct Device {
    pub kernel: LinkKernel,
    /// −1 where the link's number counts flow against the device's direction.
    pub sign: f64,
    /// Position among the specials, `NONE` for a plain device.
    pub special: u32,
}

/// A link whose state depends on the solution. Its ends are in its own direction.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Special {
    pub link: usize,
    /// Position in the network.
    pub of: usize,
    pub device: usize,
    pub a: usize,
    pub b: usize,
    pub sign: f64,
    pub opening_m: f64,
    /// Head a regulator holds at `b`; `None` for a check.
    pub set_head_m: Option<f64>,
    /// The highest head any regulator holds at `b`.
    pub highest_set_m: f64,
    /// True where another regulator leads to the same place.
    pub shares: bool,
}

/// A supply that loses pressure: a link from a fixed head.
#[derive(Clone, Debug)]
pub(crate) struct Supply {
    pub place: usize,
    pub head_m: f64,
    pub kernel: LinkKernel,
    pub usual_flow_m3s: f64,
}

/// The part of an outlet's law that most emitters work in, q = k √h, ready for a step with one division.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Orifice {
    /// Flow above which this form holds; infinite for other laws.
    pub above_m3s: f64,
    /// 1/k².
    pub per_k2: f64,
    /// k²/2.
    pub half_k2: f64,
}

impl Orifice {
    fn of(kernel: &OutletKernel) -> Self {
        match kernel.orifice() {
            Some((k, above_m3s)) => Self {
                above_m3s,
                per_k2: 1.0 / (k * k),
                half_k2: 0.5 * k * k,
            },
            None => Self {
                above_m3s: f64::INFINITY,
                per_k2: 0.0,
                half_k2: 0.0,
            },
        }
    }
}

/// How a source takes part.
#[derive(Clone, Copy, Debug)]
pub(crate) enum CompiledSource {
    /// By position among the supplies.
    Supply(usize),
    /// It fixes the head of a place.
    Fixed(usize),
    /// Another source already fixes this place, or the input has no sense.
    Idle,
}

/// A network ready for iterating.
#[derive(Clone, Debug, Default)]
pub(crate) struct Compiled {
    /// Sizes of pipes.
    pub sizes: PipeSizes,
    /// What each link is, by number: the position of its size, [`DEVICE`] plus that of its device, or [`BLOCKED`].
    pub code: Vec<u32>,
    pub run: Vec<PipeRun>,
    /// Flow at the start of a cold solve.
    pub usual_flow_m3s: Vec<f64>,
    pub devices: Vec<Device>,
    pub specials: Vec<Special>,
    /// Laws of outlets.
    pub laws: Vec<OutletKernel>,
    pub orifices: Vec<Orifice>,
    law_index: BTreeMap<[u64; 5], u32>,
    /// Outlets by place: place, law, position in the network.
    pub outlet_place: Vec<u32>,
    pub outlet_law: Vec<u32>,
    pub outlet_of: Vec<u32>,
    pub supplies: Vec<Supply>,
    pub sources: Vec<CompiledSource>,
    /// Level of each place.
    pub level_m: Vec<f64>,
    /// Places of fixed head and their heads.
    pub fixed: Vec<(u32, f64)>,
    pub is_fixed: Vec<bool>,
    /// The highest head of a source, zero without one.
    pub highest_head_m: f64,
    /// A junction of the network where the input has no sense.
    pub nonsense: Option<Option<usize>>,
}

// Proof for the indices of this file: a place is below the number of places when it comes from `Topology::place`, a link's number
// below `Topology::num_links`, and every list is made as long as these before it is used.

impl Compiled {
    /// Takes over the numbers of a network of this topology. Buffers and fits are kept.
    pub fn update(&mut self, network: &Network, topology: &Topology) {
        let n = topology.num_places();
        self.nonsense = None;
        self.level_m.clear();
        self.level_m.resize(n, 0.0);
        for (node, (junction, place)) in network.junctions.iter().zip(topology.places()).enumerate()
        {
            let level_m = junction.level.metres();
            if level_m.is_finite() {
                self.level_m[*place as usize] = level_m;
            } else {
                self.refuse(Some(node));
            }
        }
        self.sizes.begin(network.water, network.law);
        self.update_links(network, topology);
        self.update_outlets(network, topology);
        self.update_sources(network, topology);
    }

    fn refuse(&mut self, junction: Option<usize>) {
        if self.nonsense.is_none() {
            self.nonsense = Some(junction);
        }
    }

    fn update_links(&mut self, network: &Network, topology: &Topology) {
        let num = topology.num_links();
        self.code.clear();
        self.code.resize(num, BLOCKED);
        self.run.clear();
        self.run.resize(num, PipeRun::default());
        self.usual_flow_m3s.clear();
        self.usual_flow_m3s.resize(num, 0.0);
        self.devices.clear();
        self.specials.clear();
        let n = topology.num_places();
        for (of, (link, &(number, forward))) in
            network.links.iter().zip(topology.homes()).enumerate()
        {
            if number == NONE {
                // Water does not flow in a link from a junction to itself; one to no junction is a mistake.
                if link.from != link.to || link.from >= n {
                    let known = [link.from, link.to].into_iter().find(|node| *node < n);
                    self.refuse(known);
                }
                continue;
            }
            let number = number as usize;
            let sign = if forward { 1.0 } else { -1.0 };
            match &link.kind {
                LinkKind::Closed => {}
                LinkKind::Pipe(pipe) => match self.sizes.prepare(pipe) {
                    Some((size, run)) => {
                        self.code[number] = size;
                        self.run[number] = run;
                        // The flow at which the mean velocity is 0.3 m/s.
                        let bore_m = pipe.bore.metres();
                        self.usual_flow_m3s[number] =
                            sign * 0.3 * std::f64::consts::FRAC_PI_4 * bore_m * bore_m;
                    }
                    None => self.refuse(Some(link.from)),
                },
                LinkKind::Device(loss) | LinkKind::Regulator { loss, .. } => {
                    let kernel = LinkKernel::device(loss, network.water);
                    let sound =
                        !matches!(link.kind, LinkKind::Regulator { set, .. } if !set.is_finite());
                    match kernel.filter(|_| sound) {
                        Some(kernel) => {
                            let special = self.add_special(
                                network,
                                &link.kind,
                                &kernel,
                                (of, number),
                                sign,
                                topology,
                            );
                            self.code[number] = DEVICE + small(self.devices.len());
                            self.usual_flow_m3s[number] = sign * 1e-4;
                            self.devices.push(Device {
                                kernel,
                                sign,
                                special,
                            });
                        }
                        None => self.refuse(Some(link.from)),
                    }
                }
            }
        }
        // The highest setting at each place, and of how many regulators.
        let mut settings: BTreeMap<usize, (f64, usize)> = BTreeMap::new();
        for special in &self.specials {
            if let Some(set) = special.set_head_m {
                let (most, count) = settings.entry(special.b).or_insert((set, 0));
                *most = most.max(set);
                *count += 1;
            }
        }
        for special in &mut self.specials {
            if let Some((most, count)) = settings.get(&special.b) {
                special.highest_set_m = *most;
                special.shares = *count > 1;
            }
        }
    }

    /// Registers a check or regulator and returns its position; `NONE` for other devices.
    fn add_special(
        &mut self,
        network: &Network,
        kind: &LinkKind,
        kernel: &LinkKernel,
        (of, number): (usize, usize),
        sign: f64,
        topology: &Topology,
    ) -> u32 {
        let (mut a, mut b) = topology.ends(number);
        if sign < 0.0 {
            (a, b) = (b, a);
        }
        let set_head_m = match kind {
            LinkKind::Regulator { set, .. } => {
                Some(self.level_m[b] + network.water.head_of(*set).metres())
            }
            LinkKind::Device(loss) if loss.lets_nothing_back() => None,
            LinkKind::Device(_) | LinkKind::Pipe(_) | LinkKind::Closed => return NONE,
        };
        self.specials.push(Special {
            link: number,
            of,
            device: self.devices.len(),
            a,
            b,
            sign,
            opening_m: kernel.opening_m(),
            set_head_m,
            highest_set_m: f64::NEG_INFINITY,
            shares: false,
        });
        small(self.specials.len() - 1)
    }

    fn update_outlets(&mut self, network: &Network, topology: &Topology) {
        self.laws.clear();
        self.law_index.clear();
        self.outlet_place.clear();
        self.outlet_law.clear();
        self.outlet_of.clear();
        // Counted by place first, so that they can be walked along the places.
        let mut next = vec![0_u32; topology.num_places() + 1];
        for outlet in &network.outlets {
            if let Some(place) = topology.place(outlet.junction) {
                next[place as usize + 1] += 1;
            }
        }
        for place in 1..next.len() {
            next[place] += next[place - 1];
        }
        let total = next.last().copied().unwrap_or(0) as usize;
        self.outlet_place.resize(total, 0);
        self.outlet_law.resize(total, 0);
        self.outlet_of.resize(total, 0);
        let mut last: Option<(&OutletLaw, u32)> = None;
        for (position, outlet) in network.outlets.iter().enumerate() {
            let Some(place) = topology.place(outlet.junction) else {
                self.refuse(None);
                continue;
            };
            let law = match last {
                Some((law, index)) if *law == outlet.law => index,
                _ => self.law_of(network, &outlet.law).unwrap_or_else(|| {
                    self.refuse(Some(outlet.junction));
                    // It only keeps the numbering; it gives nothing.
                    self.laws.push(OutletKernel::Fixed(0.0));
                    small(self.laws.len() - 1)
                }),
            };
            last = Some((&outlet.law, law));
            let slot = next[place as usize] as usize;
            next[place as usize] += 1;
            self.outlet_place[slot] = place;
            self.outlet_law[slot] = law;
            self.outlet_of[slot] = small(position);
        }
        self.orifices.clear();
        self.orifices.extend(self.laws.iter().map(Orifice::of));
    }

    /// The position of a law, `None` where it has no sense.
    fn law_of(&mut self, network: &Network, law: &OutletLaw) -> Option<u32> {
        let key = match law {
            OutletLaw::Power { flow, at, exponent } => [
                flow.litres_per_second().to_bits(),
                at.kilopascals().to_bits(),
                exponent.to_bits(),
                0,
                0,
            ],
            OutletLaw::Compensating {
                flow,
                minimum,
                maximum,
                exponent_below,
            } => [
                flow.litres_per_second().to_bits(),
                minimum.kilopascals().to_bits(),
                maximum.kilopascals().to_bits(),
                exponent_below.to_bits(),
                1,
            ],
            // The same curve, not an equal one: two equal ones only take two places.
            OutletLaw::Points(curve) => [Arc::as_ptr(curve) as usize as u64, 0, 0, 0, 3],
            OutletLaw::Fixed(flow) => [flow.litres_per_second().to_bits(), 0, 0, 0, 2],
        };
        if let Some(index) = self.law_index.get(&key) {
            return Some(*index);
        }
        let kernel = OutletKernel::new(law, network.water)?;
        self.laws.push(kernel);
        let index = small(self.laws.len() - 1);
        self.law_index.insert(key, index);
        Some(index)
    }

    fn update_sources(&mut self, network: &Network, topology: &Topology) {
        self.sources.clear();
        self.supplies.clear();
        self.fixed.clear();
        self.is_fixed.clear();
        self.is_fixed.resize(topology.num_places(), false);
        let mut highest = f64::NEG_INFINITY;
        for source in &network.sources {
            let found = topology
                .place(source.junction)
                .zip(LinkKernel::supply(&source.curve, network.water));
            let Some((place, kernel)) = found else {
                let known = (source.junction < topology.num_places()).then_some(source.junction);
                self.refuse(known);
                self.sources.push(CompiledSource::Idle);
                continue;
            };
            let at = place as usize;
            let head_m = self.level_m[at] + network.water.head_of(source.curve.at_rest).metres();
            highest = highest.max(head_m);
            let compiled = if let Some(kernel) = kernel {
                self.supplies.push(Supply {
                    place: at,
                    head_m,
                    kernel,
                    usual_flow_m3s: source.curve.test_flow.cubic_metres_per_second(),
                });
                CompiledSource::Supply(self.supplies.len() - 1)
            } else if self.is_fixed[at] {
                // Two fixed pressures at one junction: the same twice is idle, two different ones have no sense.
                let same = |&(known, known_m): &(u32, f64)| {
                    known != place || (known_m - head_m).abs() <= 1e-9
                };
                if !self.fixed.iter().all(same) {
                    self.refuse(Some(source.junction));
                }
                CompiledSource::Idle
            } else {
                self.is_fixed[at] = true;
                self.fixed.push((place, head_m));
                CompiledSource::Fixed(at)
            };
            self.sources.push(compiled);
        }
        self.highest_head_m = if highest.is_finite() { highest } else { 0.0 };
    }
}

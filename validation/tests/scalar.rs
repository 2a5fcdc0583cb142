//! A step of the scheme written out as the book has it (theory and numerics), dense and one number at a time, beside the
//! engine's: nothing here is shared with the kernel but the tables, the films and the coefficients of the method.

#![allow(clippy::unwrap_used, clippy::panic)]

use quenchway::case::shrink;
use quenchway::engine::{A, ABSCISSAE, C, D, GAMMA, Stepper};
use quenchway::film::surface::Surface;
use quenchway::line;
use quenchway::slice::Slice;
use quenchway::slice::build::{self, Fineness};
use quenchway_validation::random;
use rayon::prelude::*;

/// A node on one of its sides: at a joint these differ.
#[derive(Clone, Copy)]
struct Side {
    phi: f64,
    kappa: f64,
    area: f64,
    /// da/dT.
    area_slope: f64,
}

/// A node: temperature, heat capacity, outer and inner side.
#[derive(Clone, Copy)]
struct Node {
    t: f64,
    c: f64,
    out: Side,
    inner: Side,
}

/// s of vertices and K_AB, K_AC, K_CB of links, or their rates of change: all are linear in s and in the areas.
struct Geometry {
    s: Vec<f64>,
    k: Vec<[f64; 3]>,
}

struct Scalar<'a> {
    slice: &'a Slice,
    surface: Surface<'a>,
}

impl Scalar<'_> {
    fn node(&self, table: usize, h: f64) -> Node {
        let table = &self.slice.tables[table];
        let index = table.find(h);
        let segment = &table.segments[index];
        let (temperature, c) = table.temperature(h);
        let d = temperature.0 - segment.temperature;
        let power =
            |coefficients: &[f64]| -> f64 { coefficients.iter().enumerate().map(|(n, c)| c * d.powi(n as i32)).sum() };
        let slope = |coefficients: &[f64]| -> f64 {
            coefficients.iter().enumerate().skip(1).map(|(n, c)| n as f64 * c * d.powi(n as i32 - 1)).sum()
        };
        let side = |of: &quenchway::slice::enthalpy::Side| Side {
            phi: power(&of.potential),
            kappa: slope(&of.potential),
            area: power(&of.area),
            area_slope: slope(&of.area),
        };
        let out = side(&segment.side);
        Node { t: temperature.0, c, out, inner: table.inner.get(index).map_or(out, side) }
    }

    /// Vertices, middles, and the lumped core where there is one.
    fn nodes(&self, y: &[f64]) -> Vec<Node> {
        let mut tables = self.slice.table_of.clone();
        tables.extend(self.slice.core.map(|core| core.table));
        tables.iter().zip(y).map(|(&table, &h)| self.node(table, h)).collect()
    }

    fn is_contact(&self, link: usize) -> bool {
        self.slice.contacts.iter().any(|&(contact, _)| contact == link)
    }

    /// From s at the first vertex and the areas (or rates) on the outer side of nodes and the inner side of vertices.
    fn geometry(&self, start: f64, out: &[f64], inner: &[f64]) -> Geometry {
        let slice = self.slice;
        let mut found = Geometry { s: vec![start], k: Vec::new() };
        for link in 0..slice.links() {
            let (mass, s_a) = (slice.link_mass[link], found.s[link]);
            if self.is_contact(link) {
                found.s.push(s_a);
                found.k.push([0.0; 3]);
                continue;
            }
            let (a, c, b) = (out[link], out[slice.vertices() + link], inner[link + 1]);
            let volume = if slice.flat { 0.0 } else { 2.0 * mass / slice.link_density[link] };
            let s_c = s_a + volume * (5.0 * a + 8.0 * c - b) / 24.0;
            let s_b = s_a + volume * (a + 4.0 * c + b) / 6.0;
            found.s.push(s_b);
            let ends = 3.0 * s_a - 4.0 * s_c + 3.0 * s_b;
            found.k.push([ends, -12.0 * s_a - 4.0 * s_b, -4.0 * s_a - 12.0 * s_b].map(|k| k / (6.0 * mass)));
        }
        found
    }

    fn geometry_of(&self, nodes: &[Node]) -> Geometry {
        let slice = self.slice;
        let out: Vec<f64> = nodes.iter().map(|node| node.out.area).collect();
        let inner: Vec<f64> = nodes.iter().map(|node| node.inner.area).collect();
        let core = slice.core.map_or(0.0, |core| core.area * nodes[slice.nodes()].out.area);
        self.geometry(if slice.flat { 1.0 } else { slice.inner + core }, &out, &inner)
    }

    /// 1/(1/G_i + 1/(r h_c)), G_i = shape k.
    fn core_conductance(&self, nodes: &[Node], geometry: &Geometry) -> f64 {
        let Some(core) = self.slice.core else { return 0.0 };
        let side = nodes[self.slice.nodes()].out;
        let inside = core.shape * side.kappa * side.area / core.density;
        1.0 / (1.0 / inside + 1.0 / (geometry.s[0].sqrt() * core.contact))
    }

    /// Flows by conduction into the nodes: -K_xy (Phi_x - Phi_y) from x to y.
    fn conduct(&self, nodes: &[Node], geometry: &Geometry, rates: &mut [f64]) {
        for (link, [ab, ac, cb]) in geometry.k.iter().enumerate() {
            let (a, b, c) = (link, link + 1, self.slice.vertices() + link);
            let (phi_a, phi_c, phi_b) = (nodes[a].out.phi, nodes[c].out.phi, nodes[b].inner.phi);
            for (x, y, flow) in
                [(a, b, -ab * (phi_a - phi_b)), (a, c, -ac * (phi_a - phi_c)), (c, b, -cb * (phi_c - phi_b))]
            {
                rates[x] -= flow;
                rates[y] += flow;
            }
        }
    }

    /// m dh/dt of every node and of the core, and the heat given off, W/m per radian.
    fn rates(&self, y: &[f64], x: f64) -> Vec<f64> {
        let slice = self.slice;
        let nodes = self.nodes(y);
        let geometry = self.geometry_of(&nodes);
        let mut rates = vec![0.0; slice.unknowns()];
        self.conduct(&nodes, &geometry, &mut rates);
        for &(link, conductance) in &slice.contacts {
            let flow = geometry.s[link].sqrt() * conductance * (nodes[link].t - nodes[link + 1].t);
            rates[link] -= flow;
            rates[link + 1] += flow;
        }
        if slice.core.is_some() {
            let flow = self.core_conductance(&nodes, &geometry) * (nodes[slice.nodes()].t - nodes[0].t);
            rates[slice.core_index()] -= flow;
            rates[0] += flow;
        }
        let last = slice.links();
        let given = geometry.s[last].sqrt() * self.surface.flux(nodes[last].t, y[slice.heat_index()], x);
        rates[last] -= given;
        rates[slice.heat_index()] = given;
        rates
    }

    /// What the matrix takes for the heat capacity of every node: in a steep table the secant to the forecast where that is
    /// well below it.
    fn capacities(&self, y: &[f64], ahead: &[f64]) -> Vec<f64> {
        let mut tables = self.slice.table_of.clone();
        tables.extend(self.slice.core.map(|core| core.table));
        let of = |(node, table): (usize, usize)| {
            let table = &self.slice.tables[table];
            let (t, c) = table.temperature(y[node]);
            let steep = table.segments.iter().any(|part| 10.0 * part.heat_capacity_slope.abs() > part.heat_capacity);
            let (far, c_far) = table.temperature(ahead[node]);
            if !steep || far.0 == t.0 {
                return c;
            }
            // In one segment c is linear in T: its mean is the secant, which small differences would round away.
            let alike = table.find(y[node]) == table.find(ahead[node]);
            let secant = if alike { 0.5 * (c + c_far) } else { (ahead[node] - y[node]) / (far.0 - t.0) };
            let share = secant / c;
            c * share.max(2.0 * share - 0.8).min(1.0)
        };
        tables.into_iter().enumerate().map(of).collect()
    }

    /// Derivatives of the rates by the unknowns with the geometry held, with these heat capacities: row by row.
    fn jacobian(&self, y: &[f64], x: f64, c: &[f64]) -> Vec<Vec<f64>> {
        let slice = self.slice;
        let nodes = self.nodes(y);
        let geometry = self.geometry_of(&nodes);
        let n = slice.unknowns();
        let mut j = vec![vec![0.0; n]; n];
        // A flow from node x to node y with its slopes by both temperatures.
        let mut flow = |x: usize, y: usize, by_x: f64, by_y: f64| {
            for (row, sign) in [(x, -1.0), (y, 1.0)] {
                j[row][x] += sign * by_x / c[x];
                j[row][y] += sign * by_y / c[y];
            }
        };
        for (link, [ab, ac, cb]) in geometry.k.iter().enumerate() {
            let (a, b, m) = (link, link + 1, slice.vertices() + link);
            if !self.is_contact(link) {
                flow(a, b, -ab * nodes[a].out.kappa, ab * nodes[b].inner.kappa);
                flow(a, m, -ac * nodes[a].out.kappa, ac * nodes[m].out.kappa);
                flow(m, b, -cb * nodes[m].out.kappa, cb * nodes[b].inner.kappa);
            }
        }
        for &(link, conductance) in &slice.contacts {
            let g = geometry.s[link].sqrt() * conductance;
            flow(link, link + 1, g, -g);
        }
        if slice.core.is_some() {
            let g = self.core_conductance(&nodes, &geometry);
            flow(slice.core_index(), 0, g, -g);
        }
        let (last, heat) = (slice.links(), slice.heat_index());
        let slopes = self.surface.slopes(nodes[last].t, y[heat], x);
        let radius = geometry.s[last].sqrt();
        for (row, sign) in [(last, -1.0), (heat, 1.0)] {
            j[row][last] += sign * radius * slopes.per_kelvin / c[last];
            j[row][heat] += sign * radius * slopes.per_heat;
        }
        j
    }

    /// Change of the rates by the geometry that moves along them, the lumped core's own left out, and by the film.
    fn drift(&self, y: &[f64], x: f64) -> Vec<f64> {
        let slice = self.slice;
        let (nodes, rates) = (self.nodes(y), self.rates(y, x));
        let geometry = self.geometry_of(&nodes);
        let warming = |node: usize| rates[node] / (slice.mass[node] * nodes[node].c);
        let of = |side: fn(&Node) -> Side| -> Vec<f64> {
            (0..slice.nodes()).map(|node| side(&nodes[node]).area_slope * warming(node)).collect()
        };
        let (out, inner) = (of(|node| node.out), of(|node| node.inner));
        let moving = self.geometry(0.0, &out, &inner);
        let mut drift = vec![0.0; slice.unknowns()];
        self.conduct(&nodes, &moving, &mut drift);
        for &(link, conductance) in &slice.contacts {
            let radius_rate = moving.s[link] / (2.0 * geometry.s[link].sqrt());
            let flow = radius_rate * conductance * (nodes[link].t - nodes[link + 1].t);
            drift[link] -= flow;
            drift[link + 1] += flow;
        }
        let (last, heat) = (slice.links(), slice.heat_index());
        let radius = geometry.s[last].sqrt();
        let along = self.surface.slopes(nodes[last].t, y[heat], x).per_metre * self.surface.speed();
        let given = moving.s[last] / (2.0 * radius) * self.surface.flux(nodes[last].t, y[heat], x) + radius * along;
        drift[last] -= given;
        drift[heat] += given;
        drift
    }

    /// Largest error of what is reported: both faces of every layer, the core, the layers' means by mass.
    fn of_reported(&self, error: &[f64]) -> f64 {
        let slice = self.slice;
        let mut found: Vec<f64> = slice.core.iter().map(|_| error[slice.core_index()]).collect();
        for &(first, last) in slice.layers.iter().flatten() {
            let nodes = (first..=last).chain(slice.vertices() + first..slice.vertices() + last);
            let mass: f64 = nodes.clone().map(|node| slice.mass[node]).sum();
            let mean = nodes.map(|node| slice.mass[node] * error[node]).sum::<f64>() / mass;
            found.extend([error[first], error[last], mean]);
        }
        found.into_iter().map(f64::abs).fold(0.0, f64::max)
    }

    /// The new state after a step with this forecast, and the error estimates in K: of every node, and of what is reported.
    fn step(&self, y: &[f64], [x, dt]: [f64; 2], ahead: &[f64]) -> (Vec<f64>, [f64; 2]) {
        let slice = self.slice;
        let n = slice.unknowns();
        let masses: Vec<f64> =
            slice.mass.iter().copied().chain([slice.core.map_or(1.0, |core| core.mass), 1.0]).collect();
        let mut matrix = self.jacobian(y, x, &self.capacities(y, ahead));
        for (row, line) in matrix.iter_mut().enumerate() {
            line.iter_mut().for_each(|entry| *entry = -*entry);
            line[row] += masses[row] / (GAMMA * dt);
        }
        let drift = self.drift(y, x);
        let mut u: Vec<Vec<f64>> = Vec::new();
        let combined = |u: &[Vec<f64>], weights: &[f64; 5], j: usize| -> f64 {
            u.iter().zip(weights).map(|(u, weight)| weight * u[j]).sum()
        };
        for i in 0..6 {
            let stage: Vec<f64> = (0..n).map(|j| y[j] + combined(&u, &A[i], j)).collect();
            let mut right = self.rates(&stage, x + ABSCISSAE[i] * dt * self.surface.speed());
            for j in 0..n {
                right[j] += masses[j] * combined(&u, &C[i], j) / dt + D[i] * dt * drift[j];
            }
            u.push(solved(matrix.clone(), right));
        }
        let new = (0..n).map(|j| y[j] + combined(&u, &A[5], j) + u[5][j]).collect();
        let nodes = self.nodes(y);
        let errors: Vec<f64> = nodes.iter().zip(&u[5]).map(|(node, u)| u / node.c).collect();
        let water = (u[5][slice.heat_index()] * self.surface.warming()).abs();
        let of_nodes = errors.iter().fold(water, |worst, error| worst.max(error.abs()));
        (new, [of_nodes, self.of_reported(&errors).max(water)])
    }
}

/// Gauss with partial pivoting.
fn solved(mut matrix: Vec<Vec<f64>>, mut right: Vec<f64>) -> Vec<f64> {
    let n = right.len();
    for column in 0..n {
        let pivot = (column..n).max_by(|a, b| matrix[*a][column].abs().total_cmp(&matrix[*b][column].abs())).unwrap();
        matrix.swap(column, pivot);
        right.swap(column, pivot);
        let (above, below) = matrix.split_at_mut(column + 1);
        let own = &above[column];
        for (offset, line) in below.iter_mut().enumerate() {
            let factor = line[column] / own[column];
            if factor != 0.0 {
                line.iter_mut().zip(own).skip(column).for_each(|(entry, above)| *entry -= factor * above);
                right[column + 1 + offset] -= factor * right[column];
            }
        }
    }
    for row in (0..n).rev() {
        let known: f64 = (row + 1..n).map(|column| matrix[row][column] * right[column]).sum();
        right[row] = (right[row] - known) / matrix[row][row];
    }
    right
}

/// The slice of a random case with its first state; none where it is too large to be solved densely.
fn slice(case: &quenchway::case::Case) -> Option<(Slice, Vec<f64>)> {
    let radii = shrink::radii(case).ok()?;
    let fineness = Fineness { accuracy: case.tolerance, factor: 1.0, alone: false };
    let (slice, state) = build::slice(case, &radii, line::times(case), fineness).ok()?;
    (slice.nodes() <= 130).then_some((slice, state))
}

/// Steps of every size through every section of random cases, in still and in warming water: each from the engine's state.
#[test]
fn the_engine_takes_the_steps_of_the_book() {
    let counts: Vec<[usize; 2]> = (43_000..43_150)
        .into_par_iter()
        .map(|seed| {
            let case = random::case(seed);
            let Some((slice, state)) = slice(&case) else { return [0; 2] };
            let diameter = 2.0 * shrink::radii(&case).unwrap().hot[case.layers.len() - 1];
            // Water that would warm, or against the product cool, by some kelvins.
            let warming = [0.0, 3.0, -1.0][seed as usize % 3] / slice.mass.iter().map(|mass| 2e5 * mass).sum::<f64>();
            let mut stepper = Stepper::new(slice.clone(), &state);
            let [mut compared, mut secants] = [0; 2];
            for section in &case.sections {
                let heat = stepper.state()[slice.heat_index()];
                let entry = section.temperature.0;
                let surface = section.surface(case.shape, case.line_speed, diameter).in_medium(entry, warming, heat);
                let scalar = Scalar { slice: &slice, surface };
                let (mut x, mut dt) = (0.0, 1e-5 * section.length / case.line_speed);
                // State and size of the step before, none in a new medium.
                let mut last: Option<(Vec<f64>, f64)> = None;
                for _ in 0..9 {
                    let before = stepper.state();
                    stepper.begin(&surface, x);
                    let mut ahead = before.clone();
                    if let Some((older, size)) = &last {
                        let far = |(y, older): (&f64, &f64)| y + 0.7 * dt / size * (y - older);
                        ahead = before.iter().zip(older).map(far).collect();
                    }
                    let of_reported = stepper.attempt_for_report(dt);
                    let error = stepper.attempt(dt);
                    let (expected, [estimate, reported]) = scalar.step(&before, [x, dt], &ahead);
                    // A step that is far too long swings, and multiplies any rounding: it is taken back.
                    if estimate.is_nan() || estimate >= 5.0 {
                        dt *= 0.2;
                        continue;
                    }
                    stepper.accept();
                    let kelvins =
                        |state: &[f64]| -> Vec<f64> { scalar.nodes(state).iter().map(|node| node.t).collect() };
                    let idle = |node: usize| node >= slice.vertices() && scalar.is_contact(node - slice.vertices());
                    let found = stepper.state();
                    for (node, (a, b)) in kelvins(&found).iter().zip(kelvins(&expected)).enumerate() {
                        let within = (a - b).abs() < 1e-9 || (node < slice.nodes() && idle(node));
                        assert!(within, "seed {seed}, {}, dt {dt}, node {node}: {a} and {b}", section.name);
                    }
                    let (q, wanted) = (found[slice.heat_index()], expected[slice.heat_index()]);
                    assert!((q / wanted - 1.0).abs() < 1e-10, "seed {seed}, heat: {q} and {wanted}");
                    assert!((error - estimate).abs() < 1e-9 + 1e-6 * estimate, "seed {seed}: {error} and {estimate}");
                    if slice.is_steep() {
                        let apart = (of_reported - reported).abs();
                        assert!(apart < 1e-9 + 1e-6 * reported, "seed {seed}: {of_reported} and {reported}");
                        let [own, taken] = [&before, &ahead].map(|ahead| scalar.capacities(&before, ahead));
                        secants += usize::from(own != taken && reported < estimate);
                    }
                    last = Some((before, dt));
                    (x, dt) = (x + dt * case.line_speed, 3.0 * dt);
                    compared += 1;
                }
            }
            [compared, secants]
        })
        .collect();
    let cases = counts.iter().filter(|[compared, _]| *compared > 0).count();
    let [steps, secants] = [0, 1].map(|which| counts.iter().map(|counts| counts[which]).sum::<usize>());
    assert!(cases > 100 && steps > 2000 && secants > 100, "{cases} cases, {steps} steps, {secants} with a secant");
}

/// The Jacobian and the drift of the book are derivatives of its rates.
#[test]
fn the_book_s_derivatives_are_those_of_its_rates() {
    let mut compared = 0;
    for seed in 44_000..44_040 {
        let case = random::case(seed);
        let Some((slice, state)) = slice(&case) else { continue };
        let diameter = 2.0 * shrink::radii(&case).unwrap().hot[case.layers.len() - 1];
        let surface = case.sections[0].surface(case.shape, case.line_speed, diameter);
        let scalar = Scalar { slice: &slice, surface };
        // Some way down the section, so that nothing is uniform any more.
        let mut stepper = Stepper::new(slice.clone(), &state);
        let (mut x, mut dt) = (0.0, 1e-3 * case.sections[0].length / case.line_speed);
        for _ in 0..20 {
            stepper.begin(&surface, x);
            // A step that errs by kelvins would leave a state that no product has.
            while stepper.attempt(dt) > 0.2 {
                dt *= 0.3;
            }
            stepper.accept();
            x += dt * case.line_speed;
        }
        let y = stepper.state();
        let held = scalar.geometry_of(&scalar.nodes(&y));
        let rates = scalar.rates(&y, x);
        // Along a direction: all unknowns by some 0.1 mK, the geometry held; on a steep flank more would not be straight.
        let nodes = scalar.nodes(&y);
        let along: Vec<f64> = nodes.iter().enumerate().map(|(j, node)| node.c * (1.0 + (7 * j % 5) as f64)).collect();
        let conducted = |sign: f64| -> Vec<f64> {
            let moved: Vec<f64> =
                y.iter().enumerate().map(|(j, h)| h + sign * 1e-4 * along.get(j).copied().unwrap_or(0.0)).collect();
            let mut out = vec![0.0; slice.unknowns()];
            scalar.conduct(&scalar.nodes(&moved), &held, &mut out);
            out
        };
        let (after, before) = (conducted(1.0), conducted(-1.0));
        let jacobian = scalar.jacobian(&y, x, &nodes.iter().map(|node| node.c).collect::<Vec<_>>());
        // Rows of middles know nothing but conduction.
        let scale = rates.iter().fold(0.0_f64, |worst, rate| worst.max(rate.abs()));
        for row in (slice.vertices()..slice.nodes()).filter(|row| !scalar.is_contact(row - slice.vertices())) {
            let product: f64 = jacobian[row].iter().zip(&along).map(|(j, a)| j * a).sum();
            let difference = (after[row] - before[row]) / 2e-4;
            assert!(
                (product - difference).abs() < 1e-5 * difference.abs() + 1e-6 * scale,
                "{seed}: {product} {difference}"
            );
        }
        // The rates of these temperatures in the geometry of a moment before and after.
        let geometry_at = |dt: f64| {
            let moved: Vec<f64> = (0..slice.unknowns())
                .map(|j| if j < slice.nodes() { y[j] + dt * rates[j] / slice.mass[j] } else { y[j] })
                .collect();
            scalar.geometry_of(&scalar.nodes(&moved))
        };
        let moment = 1e-6 * dt;
        let (later, sooner) = (geometry_at(moment), geometry_at(-moment));
        let mut drift = [vec![0.0; slice.unknowns()], vec![0.0; slice.unknowns()]];
        scalar.conduct(&nodes, &later, &mut drift[0]);
        scalar.conduct(&nodes, &sooner, &mut drift[1]);
        let found = scalar.drift(&y, x);
        let largest = found.iter().fold(0.0_f64, |worst, rate| worst.max(rate.abs()));
        for row in (slice.vertices()..slice.nodes()).filter(|row| !scalar.is_contact(row - slice.vertices())) {
            let difference = (drift[0][row] - drift[1][row]) / (2.0 * moment);
            assert!(
                (found[row] - difference).abs() < 1e-4 * largest + 1e-6 * scale / dt,
                "{seed}: {} {difference}",
                found[row]
            );
        }
        compared += 1;
    }
    assert!(compared > 25, "{compared}");
}

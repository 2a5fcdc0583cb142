/* A peer for the engine: second-order rings in space, SUNDIALS CVODE (BDF, banded Jacobian) or fixed trapezoidal steps in time.
 *
 * Written from the equations of docs/theory.md alone. Rings of fixed mass with their enthalpy as the state; radii rebuilt
 * from the rings' areas; flux between the mass middles of neighbouring rings; a metal core is one ring of mean temperature.
 *
 *   rings PROBLEM SECONDS < settings
 *
 * A line of settings "METHOD RINGS SHARE INNER OUTER SETTING" gives a line of results: microseconds (the least of as many
 * solves as fit into SECONDS), steps, then axis, surface, outer mean and both sides of each joint at the end of every section.
 *   METHOD   cvode: Jacobian by differences; cvode-own: Jacobian with frozen conductances; trapezoid
 *   RINGS    in the outermost layer; SHARE times as many in every other layer that is no metal
 *   INNER    how many times narrower the rings are at a layer's inner face than they would be, OUTER at its outer face;
 *            twice the rings of the same grading halve every ring
 *   SETTING  relative tolerance; for trapezoid the number of steps a section
 * Rings are laid out before the clock runs.
 */
#define _POSIX_C_SOURCE 200809L
#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sundials/sundials_types.h>
#include <sunlinsol/sunlinsol_band.h>
#include <sunmatrix/sunmatrix_band.h>
#include <time.h>

enum { POINTS = 16, LAYERS = 4, SECTIONS = 8, RINGS = 4096 };
static const double STEFAN_BOLTZMANN = 5.670374419e-8, ZERO = 273.15;

typedef struct { int n; double t[POINTS], v[POINTS]; } Curve;
typedef struct { Curve k, c, rho; double h[POINTS]; } Material;
typedef struct { Material material; double outer, start, power, contact; int lumped; } Layer;
typedef struct { double duration, medium, film, emissivity; } Section;
typedef struct { int layers, sections; Layer layer[LAYERS]; Section section[SECTIONS]; } Problem;

typedef struct {
    const Problem *problem;
    const Section *section;
    int n, first[LAYERS + 1];
    int of[RINGS];
    double mass[RINGS], area[RINGS], rho0[RINGS];
    double t[RINGS], middle[RINGS], edge[RINGS + 1], k[RINGS], flow[RINGS + 1], conductance[RINGS + 1], surface;
    double lower[RINGS], diagonal[RINGS], upper[RINGS];
} Rings;

static double curve(const Curve *c, double t) {
    if (t <= c->t[0]) return c->v[0];
    for (int i = 1; i < c->n; i++)
        if (t <= c->t[i]) return c->v[i - 1] + (c->v[i] - c->v[i - 1]) * (t - c->t[i - 1]) / (c->t[i] - c->t[i - 1]);
    return c->v[c->n - 1];
}

static void integrate(Material *m) {
    m->h[0] = m->c.v[0] * m->c.t[0];
    for (int i = 1; i < m->c.n; i++)
        m->h[i] = m->h[i - 1] + 0.5 * (m->c.v[i] + m->c.v[i - 1]) * (m->c.t[i] - m->c.t[i - 1]);
}

static double enthalpy(const Material *m, double t) {
    const Curve *c = &m->c;
    if (t <= c->t[0]) return m->h[0] + c->v[0] * (t - c->t[0]);
    for (int i = 1; i < c->n; i++)
        if (t <= c->t[i]) return m->h[i - 1] + 0.5 * (c->v[i - 1] + curve(c, t)) * (t - c->t[i - 1]);
    return m->h[c->n - 1] + c->v[c->n - 1] * (t - c->t[c->n - 1]);
}

/* The heat capacity is linear between points: the temperature solves a quadratic. */
static double temperature(const Material *m, double h) {
    const Curve *c = &m->c;
    if (h <= m->h[0]) return c->t[0] + (h - m->h[0]) / c->v[0];
    for (int i = 1; i < c->n; i++)
        if (h <= m->h[i]) {
            double slope = (c->v[i] - c->v[i - 1]) / (c->t[i] - c->t[i - 1]), d = h - m->h[i - 1], v = c->v[i - 1];
            return c->t[i - 1] + 2 * d / (v + sqrt(v * v + 2 * slope * d));
        }
    return c->t[c->n - 1] + (h - m->h[c->n - 1]) / c->v[c->n - 1];
}

typedef struct { char method[16]; int rings; double share, inner, outer, setting; } Settings;

/* Where ring i of `count` begins, of a layer from 0 to `count`: widths go as inner^-(1-x)^2 outer^-x^2, x from 0 to 1. */
static double beginning(int i, int count, double inner, double outer) {
    enum { PARTS = 32 };
    double sum = 0, before = 0;
    for (int part = 0; part < count * PARTS; part++) {
        double x = (part + 0.5) / (count * PARTS);
        if (part == i * PARTS) before = sum;
        sum += exp(-log(inner) * (1 - x) * (1 - x) - log(outer) * x * x);
    }
    return i == count ? count : before / sum * count;
}

static void build(Rings *r, const Problem *p, const Settings *s) {
    r->problem = p;
    r->n = 0;
    double inner = 0;
    for (int l = 0; l < p->layers; l++) {
        const Layer *layer = &p->layer[l];
        int outermost = l + 1 == p->layers, count = outermost ? s->rings : (int)fmax(2, s->share * s->rings);
        if (layer->lumped) count = 1;
        /* At the axis there is no face. */
        double narrower = l > 0 ? s->inner : 1, edge = inner, rho0 = curve(&layer->material.rho, layer->start);
        r->first[l] = r->n;
        for (int i = 0; i < count; i++, r->n++) {
            double next = inner + (layer->outer - inner) * beginning(i + 1, count, narrower, s->outer) / count;
            r->of[r->n] = l;
            r->rho0[r->n] = rho0;
            r->area[r->n] = 0.5 * (next * next - edge * edge);
            r->mass[r->n] = rho0 * r->area[r->n];
            edge = next;
        }
        inner = layer->outer;
    }
    r->first[p->layers] = r->n;
}

/* ln(b/a) of neighbours to third order: of the rings' own order, without a logarithm. */
static double log_ratio(double b, double a) { return 2 * (b - a) / (a + b); }

/* Temperatures, radii, heat flows per radian outward through every edge, surface temperature. */
static void flows(Rings *r, const double *y) {
    double s = 0;
    r->edge[0] = 0;
    for (int i = 0; i < r->n; i++) {
        const Layer *layer = &r->problem->layer[r->of[i]];
        r->t[i] = temperature(&layer->material, y[i]);
        r->k[i] = curve(&layer->material.k, r->t[i]);
        double area = r->area[i];
        if (layer->material.rho.n > 1) {
            double ratio = r->rho0[i] / curve(&layer->material.rho, r->t[i]);
            /* The power is 1 or 2/3. */
            area *= layer->power == 1 ? ratio : cbrt(ratio * ratio);
        }
        r->middle[i] = sqrt(s + area);
        s += 2 * area;
        r->edge[i + 1] = sqrt(s);
    }
    r->flow[0] = r->conductance[0] = 0;
    for (int i = 0; i + 1 < r->n; i++) {
        const Layer *layer = &r->problem->layer[r->of[i]];
        double edge = r->edge[i + 1];
        double inside = layer->lumped ? 0.25 / r->k[i] : log_ratio(edge, r->middle[i]) / r->k[i];
        double resistance = inside + log_ratio(r->middle[i + 1], edge) / r->k[i + 1];
        if (r->of[i] != r->of[i + 1] && layer->contact > 0) resistance += 1 / (edge * layer->contact);
        r->conductance[i + 1] = 1 / resistance;
        r->flow[i + 1] = (r->t[i] - r->t[i + 1]) * r->conductance[i + 1];
    }
    int last = r->n - 1;
    double radius = r->edge[r->n], inside = r->k[last] / log_ratio(radius, r->middle[last]);
    double medium = r->section->medium, cold = medium + ZERO, surface = r->t[last];
    double fourth = cold * cold * cold * cold, slope = 0;
    double radiation = r->section->emissivity * STEFAN_BOLTZMANN;
    for (int turn = 0; turn < 20; turn++) {
        double kelvin = surface + ZERO, cube = kelvin * kelvin * kelvin;
        double f = inside * (r->t[last] - surface)
                 - radius * (r->section->film * (surface - medium) + radiation * (cube * kelvin - fourth));
        slope = -inside - radius * (r->section->film + 4 * radiation * cube);
        surface -= f / slope;
        if (radiation == 0 || fabs(f / slope) < 1e-12) break;
    }
    r->surface = surface;
    r->flow[r->n] = inside * (r->t[last] - surface);
    r->conductance[r->n] = inside * (1 + inside / slope);
}

static void rates(Rings *r, const double *y, double *out) {
    flows(r, y);
    for (int i = 0; i < r->n; i++) out[i] = (r->flow[i] - r->flow[i + 1]) / r->mass[i];
}

static int right_side(sunrealtype t, N_Vector y, N_Vector out, void *data) {
    (void)t;
    rates(data, NV_DATA_S(y), NV_DATA_S(out));
    return 0;
}

/* Rates by the rings' enthalpies with conductances and radii frozen, at the state of the last flows. */
static void slopes(Rings *r) {
    double before = 0;
    for (int i = 0; i < r->n; i++) {
        double c = curve(&r->problem->layer[r->of[i]].material.c, r->t[i]);
        r->diagonal[i] = -(r->conductance[i] + r->conductance[i + 1]) / (r->mass[i] * c);
        if (i > 0) {
            r->lower[i] = r->conductance[i] / (r->mass[i] * before);
            r->upper[i - 1] = r->conductance[i] / (r->mass[i - 1] * c);
        }
        before = c;
    }
}

static int jacobian(sunrealtype t, N_Vector y, N_Vector out, SUNMatrix matrix, void *data, N_Vector a, N_Vector b, N_Vector c) {
    (void)t, (void)out, (void)a, (void)b, (void)c;
    Rings *r = data;
    flows(r, NV_DATA_S(y));
    slopes(r);
    for (int i = 0; i < r->n; i++) {
        SM_ELEMENT_B(matrix, i, i) = r->diagonal[i];
        if (i > 0) {
            SM_ELEMENT_B(matrix, i, i - 1) = r->lower[i];
            SM_ELEMENT_B(matrix, i - 1, i) = r->upper[i - 1];
        }
    }
    return 0;
}

static void report(Rings *r, const double *y, double *out, int *count) {
    flows(r, y);
    const Problem *p = r->problem;
    double axis, mean = 0, mass = 0;
    if (p->layer[0].lumped) {
        axis = r->t[0] + 0.25 * r->flow[1] / r->k[0];
    } else {
        double a = r->middle[0] * r->middle[0], b = r->middle[1] * r->middle[1];
        axis = r->t[0] - (r->t[1] - r->t[0]) * a / (b - a);
    }
    for (int i = r->first[p->layers - 1]; i < r->n; i++) mean += r->mass[i] * r->t[i], mass += r->mass[i];
    out[(*count)++] = axis;
    out[(*count)++] = r->surface;
    out[(*count)++] = mean / mass;
    for (int l = 0; l + 1 < p->layers; l++) {
        int o = r->first[l + 1], i = o - 1;
        double edge = r->edge[o];
        out[(*count)++] = r->t[i] - r->flow[o] * (p->layer[l].lumped ? 0.25 / r->k[i] : log_ratio(edge, r->middle[i]) / r->k[i]);
        out[(*count)++] = r->t[o] + r->flow[o] * log_ratio(r->middle[o], edge) / r->k[o];
    }
}

/* Solves tridiagonal equations in place of their right side. */
static void tridiagonal(Rings *r, double *x) {
    for (int i = 1; i < r->n; i++) {
        double f = r->lower[i] / r->diagonal[i - 1];
        r->diagonal[i] -= f * r->upper[i - 1];
        x[i] -= f * x[i - 1];
    }
    x[r->n - 1] /= r->diagonal[r->n - 1];
    for (int i = r->n - 2; i >= 0; i--) x[i] = (x[i] - r->upper[i] * x[i + 1]) / r->diagonal[i];
}

/* What is often written by hand: the trapezoidal rule with steps that grow from each section's entry, a backward Euler
 * step first, Newton with frozen conductances and heat capacities. */
static long trapezoid(Rings *r, double *y, int steps) {
    static double start[RINGS], old[RINGS], now[RINGS], change[RINGS];
    const double growth = pow(1e4, 1.0 / steps);
    long done = 0;
    double step = r->section->duration * (growth - 1) / (pow(growth, steps) - 1);
    for (int s = 0; s < steps; s++, step *= growth) {
        double weight = s == 0 ? 1.0 : 0.5;
        memcpy(start, y, sizeof(double) * r->n);
        rates(r, y, old);
        for (int turn = 0; turn < 6; turn++) {
            rates(r, y, now);
            double largest = 0;
            slopes(r);
            for (int i = 0; i < r->n; i++) {
                change[i] = start[i] + step * (weight * now[i] + (1 - weight) * old[i]) - y[i];
                r->diagonal[i] = 1 - weight * step * r->diagonal[i];
                r->lower[i] *= -weight * step;
                r->upper[i] *= -weight * step;
            }
            tridiagonal(r, change);
            for (int i = 0; i < r->n; i++) {
                y[i] += change[i];
                largest = fmax(largest, fabs(change[i]));
            }
            if (largest < 1e-3) break;
        }
        done++;
    }
    return done;
}

static long solve(Rings *r, const Settings *settings, double *out, int *count, SUNContext context) {
    const Problem *p = r->problem;
    N_Vector y = N_VNew_Serial(r->n, context);
    double *state = NV_DATA_S(y);
    for (int i = 0; i < r->n; i++) state[i] = enthalpy(&p->layer[r->of[i]].material, p->layer[r->of[i]].start);
    long steps = 0;
    *count = 0;
    void *cvode = NULL;
    SUNMatrix matrix = NULL;
    SUNLinearSolver solver = NULL;
    int stepped = strcmp(settings->method, "trapezoid") == 0;
    for (int s = 0; s < p->sections; s++) {
        r->section = &p->section[s];
        if (stepped) {
            steps += trapezoid(r, state, (int)settings->setting);
        } else {
            if (!cvode) {
                cvode = CVodeCreate(CV_BDF, context);
                CVodeInit(cvode, right_side, 0, y);
                CVodeSetUserData(cvode, r);
                /* Enthalpies count from 0 degC: 1 J/kg is about a thousandth of a kelvin. */
                CVodeSStolerances(cvode, settings->setting, settings->setting * 1e3);
                CVodeSetMaxNumSteps(cvode, 1000000);
                matrix = SUNBandMatrix(r->n, 1, 1, context);
                solver = SUNLinSol_Band(y, matrix, context);
                CVodeSetLinearSolver(cvode, solver, matrix);
                if (strcmp(settings->method, "cvode-own") == 0) CVodeSetJacFn(cvode, jacobian);
            } else {
                CVodeReInit(cvode, 0, y);
            }
            sunrealtype reached;
            CVodeSetStopTime(cvode, r->section->duration);
            if (CVode(cvode, r->section->duration, y, &reached, CV_NORMAL) < 0) { steps = -1; break; }
            long of_section;
            CVodeGetNumSteps(cvode, &of_section);
            steps += of_section;
        }
        report(r, state, out, count);
    }
    if (cvode) { CVodeFree(&cvode); SUNLinSolFree(solver); SUNMatDestroy(matrix); }
    N_VDestroy(y);
    return steps;
}

static void read_curve(FILE *file, Curve *c) {
    if (fscanf(file, "%d", &c->n) != 1 || c->n < 1 || c->n > POINTS) exit(2);
    for (int i = 0; i < c->n; i++)
        if (fscanf(file, "%lf %lf", &c->t[i], &c->v[i]) != 2) exit(2);
}

static void read_problem(const char *path, Problem *p) {
    FILE *file = fopen(path, "r");
    if (!file || fscanf(file, "%d %d", &p->layers, &p->sections) != 2) exit(2);
    if (p->layers > LAYERS || p->sections > SECTIONS) exit(2);
    for (int l = 0; l < p->layers; l++) {
        Layer *layer = &p->layer[l];
        if (fscanf(file, "%lf %lf %lf %lf %d", &layer->outer, &layer->start, &layer->power, &layer->contact, &layer->lumped) != 5) exit(2);
        read_curve(file, &layer->material.k);
        read_curve(file, &layer->material.c);
        read_curve(file, &layer->material.rho);
        integrate(&layer->material);
    }
    for (int s = 0; s < p->sections; s++) {
        Section *section = &p->section[s];
        if (fscanf(file, "%lf %lf %lf %lf", &section->duration, &section->medium, &section->film, &section->emissivity) != 4) exit(2);
    }
    fclose(file);
}

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return t.tv_sec + 1e-9 * t.tv_nsec;
}

int main(int count, char **words) {
    static Problem problem;
    static Rings rings;
    static double out[SECTIONS * (3 + 2 * LAYERS)];
    if (count != 3) return 2;
    read_problem(words[1], &problem);
    double seconds = atof(words[2]);
    SUNContext context;
    if (SUNContext_Create(SUN_COMM_NULL, &context)) return 1;
    Settings s;
    while (scanf("%15s %d %lf %lf %lf %lf", s.method, &s.rings, &s.share, &s.inner, &s.outer, &s.setting) == 6) {
        if (s.rings * fmax(1, s.share) * problem.layers > RINGS) return 2;
        int values = 0;
        long steps = 0;
        build(&rings, &problem, &s);
        double least = HUGE_VAL, began = now();
        /* The least of several times: what else the machine does only adds. */
        for (int turn = 0; turn < 3 || now() - began < seconds; turn++) {
            double start = now();
            steps = solve(&rings, &s, out, &values, context);
            least = fmin(least, now() - start);
        }
        if (steps < 0) values = 0;
        printf("%.3f %ld", least * 1e6, steps);
        for (int i = 0; i < values; i++) printf(" %.9f", out[i]);
        printf("\n");
        fflush(stdout);
    }
    SUNContext_Free(&context);
    return 0;
}

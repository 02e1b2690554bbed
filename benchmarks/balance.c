/* The daily balance in C, with the arithmetic of roofspring.kernels.balance.run_store. */

static inline double lesser(double a, double b) { return b < a ? b : a; }
static inline double greater(double a, double b) { return b > a ? b : a; }

void run_store(long n, const double *restrict inflow, const double *restrict demand,
               double capacity, double start, double theta, double *restrict taken_out,
               double *restrict volume_out, double *restrict spill_out)
{
    double volume = start;
    if (theta == 0.0) {
        for (long i = 0; i < n; i++) {
            double there = volume + inflow[i];
            double taken = lesser(demand[i], volume);
            volume = lesser(there, capacity) - taken;
            taken_out[i] = taken;
            volume_out[i] = volume;
            spill_out[i] = there - taken - volume;
        }
        return;
    }
    for (long i = 0; i < n; i++) {
        double there = volume + inflow[i];
        double taken = lesser(demand[i], volume + theta * inflow[i]);
        double room = greater(0.0, capacity - (1.0 - theta) * taken);
        volume = lesser(there - taken, room);
        taken_out[i] = taken;
        volume_out[i] = volume;
        spill_out[i] = there - taken - volume;
    }
}

/* Total yield of many sizes, one size after another. */
void served_by_capacity(long n, const double *restrict inflow, const double *restrict demand,
                        long sizes, const double *restrict capacities, double start_frac,
                        double *restrict served)
{
    for (long k = 0; k < sizes; k++) {
        double capacity = capacities[k], volume = start_frac * capacity, total = 0.0;
        for (long i = 0; i < n; i++) {
            double taken = lesser(demand[i], volume);
            volume = lesser(volume + inflow[i], capacity) - taken;
            total += taken;
        }
        served[k] = total;
    }
}

/* One roof and three stores, one design after another, with the arithmetic of
   roofspring.kernels.screening.screen_designs. designs: six rows of m. */
void screen_designs(long n, const double *restrict rain, const double *restrict want, long m,
                    const double *restrict designs, double start_frac, double *restrict served_out,
                    double *restrict short_out, double *restrict spilled_out)
{
    for (long k = 0; k < m; k++) {
        double catch = designs[k], flush = designs[m + k], raw_full = designs[2 * m + k];
        double rate = designs[3 * m + k], clean_full = designs[4 * m + k];
        double cistern_full = designs[5 * m + k];
        double raw = start_frac * raw_full, clean = start_frac * clean_full;
        double cistern = start_frac * cistern_full, served = 0.0, days = 0.0, spilled = 0.0;
        for (long i = 0; i < n; i++) {
            double from_clean = lesser(want[i], clean);
            double from_cistern = lesser(want[i] - from_clean, cistern);
            double there = raw + greater(0.0, catch * rain[i] - flush);
            double through = lesser(there, rate);
            double left = there - through;
            raw = lesser(left, raw_full);
            double cleaned = clean + through, held = lesser(cleaned, clean_full);
            clean = held - from_clean;
            double below = cistern + (cleaned - held), kept = lesser(below, cistern_full);
            cistern = kept - from_cistern;
            double got = from_clean + from_cistern;
            served += got;
            days += got < want[i] * (1.0 - 1e-9) ? 1.0 : 0.0;
            spilled += (left - raw) + (below - kept);
        }
        served_out[k] = served;
        short_out[k] = days;
        spilled_out[k] = spilled;
    }
}

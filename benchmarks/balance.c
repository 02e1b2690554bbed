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

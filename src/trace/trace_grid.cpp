#include "trace/trace_grid.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"

namespace gw::trace {

namespace {

/// Median of the steps; of an evenly spread part of them when there are very many.
double median_step(std::vector<double> const& t) {
    constexpr std::size_t enough = 100'000;
    std::size_t const stride = std::max<std::size_t>(1, t.size() / enough);
    std::vector<double> steps;
    steps.reserve(t.size() / stride + 1);
    for (std::size_t i = 1; i < t.size(); i += stride) steps.push_back(t[i] - t[i - 1]);
    auto const middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
    std::ranges::nth_element(steps, middle);
    return *middle;
}

double mean_step_without_gaps(std::vector<double> const& t, double longest) {
    double sum = 0;
    std::size_t count = 0;
    for (std::size_t i = 1; i < t.size(); ++i)
        if (double const step = t[i] - t[i - 1]; step <= longest) {
            sum += step;
            ++count;
        }
    return sum / static_cast<double>(count);
}

/// What rounding of the printed times leaves to doubt, s. When nine of ten steps are the same, the
/// interval is a whole number of printed steps and nothing was rounded away: 1, 2, 3, 5 has a gap.
double rounding_left(std::vector<double> const& t, double median, double printed) {
    std::size_t same = 0;
    for (std::size_t i = 1; i < t.size(); ++i)
        if (std::abs(t[i] - t[i - 1] - median) <= 0.01 * printed) ++same;
    return 10 * same >= 9 * (t.size() - 1) ? std::min(printed, 1e-9 * median) : printed;
}

struct Fit {
    double interval{};             ///< s
    double offset{};               ///< s, of the first stretch: the fitted time of row 0
    std::size_t longest_rows = 1;  ///< rows of the longest stretch
};

/// One slope, an offset for each stretch. Sums run about each stretch's middle to keep their
/// digits.
Fit fit_stretches(std::vector<double> const& t, double longest_step, double first_guess) {
    Fit fit{first_guess, t.front(), 1};
    double s_nt = 0, s_nn = 0, first_mean = t.front(), first_middle = 0;
    for (std::size_t from = 0; from < t.size();) {
        std::size_t to = from + 1;
        while (to < t.size() && t[to] - t[to - 1] <= longest_step) ++to;
        auto const rows = static_cast<double>(to - from);
        double const middle = (rows - 1) / 2;
        double mean = 0;
        for (std::size_t i = from; i < to; ++i) mean += t[i] - t[from];
        mean = t[from] + mean / rows;
        for (std::size_t i = from; i < to; ++i) {
            double const n = static_cast<double>(i - from) - middle;
            s_nt += n * (t[i] - mean);
            s_nn += n * n;
        }
        if (from == 0) {
            first_mean = mean;
            first_middle = middle;
        }
        fit.longest_rows = std::max(fit.longest_rows, to - from);
        from = to;
    }
    if (s_nn > 0) fit.interval = s_nt / s_nn;
    fit.offset = first_mean - fit.interval * first_middle;
    return fit;
}

/// The exact interval that the printed times were most likely made with.
double snapped(Fit const& fit, SampledRows const& rows, double printed) {
    double const rounding = std::max(printed, 4e-16 * std::abs(rows.time_s.back()));
    // A least-squares slope through n times, each off by half a step, is off by at most 1.5 steps /
    // n. The sums over 10^7 rows are themselves good to some 1e-12 of the interval.
    double const allowed =
        std::max(1.5 * rounding / static_cast<double>(fit.longest_rows), 1e-11 * fit.interval);
    double const d = fit.interval;
    auto const near = [&](double candidate) {
        return candidate > 0 && std::abs(candidate - d) <= allowed;
    };
    // What the header says may use all of the rounding that the print leaves, as long as it is
    // fine.
    double const fine =
        1.5 * std::min(rows.time_step_printed, 0.01 * d) / static_cast<double>(fit.longest_rows);
    if (auto const stated = rows.interval_stated;
        stated && std::abs(*stated - d) <= std::max(allowed, fine))
        return *stated;
    for (int digits = 1; digits <= 2; ++digits)  // 0.02, 0.05
        if (auto const value = parse_number(fmt::format("{:.{}e}", d, digits - 1));
            value && near(*value))
            return *value;
    for (double const per : {1.0, 60.0})
        if (double const rate = std::round(per / d); rate >= 1 && near(per / rate))
            return per / rate;
    for (int digits = 3; digits <= 15; ++digits)
        if (auto const value = parse_number(fmt::format("{:.{}e}", d, digits - 1));
            value && near(*value))
            return *value;
    return d;
}

std::string gap_warning(Trace const& trace) {
    std::size_t missing = 0;
    for (auto const& gap : trace.gaps) missing += gap.last - gap.first + 1;
    auto const& first = trace.gaps.front();
    return fmt::format(
        "{}: {} of {} samples were never recorded ({} gap{}, the first from {} s to {} s); a "
        "straight line stands in for them.",
        trace.source,
        missing,
        trace.samples(),
        trace.gaps.size(),
        trace.gaps.size() == 1 ? "" : "s",
        fixed(trace.time(first.first), 2),
        fixed(trace.time(first.last), 2));
}

/// Rows become the samples at their own grid points; the points between are gaps.
void place(SampledRows const& rows, std::vector<std::size_t> const& at, Trace& trace) {
    for (std::size_t i = 1; i < at.size(); ++i)
        if (at[i] > at[i - 1] + 1) trace.gaps.push_back({at[i - 1] + 1, at[i] - 1});
    for (auto const& values : rows.signals) {
        auto& signal = trace.signals.emplace_back(at.back() + 1);
        for (std::size_t i = 0; i < at.size(); ++i) {
            signal[at[i]] = values[i];
            if (i == 0) continue;
            auto const width = static_cast<double>(at[i] - at[i - 1]);
            for (std::size_t k = at[i - 1] + 1; k < at[i]; ++k)
                signal[k] =
                    between(values[i - 1], values[i], static_cast<double>(k - at[i - 1]) / width);
        }
    }
}

/// Samples read off the straight lines between rows.
void resample(SampledRows const& rows, std::size_t samples, double longest_step, Trace& trace) {
    auto const& t = rows.time_s;
    for (std::size_t s = 0; s < rows.signals.size(); ++s) trace.signals.emplace_back(samples);
    std::size_t row = 1;
    for (std::size_t k = 0; k < samples; ++k) {
        double const when = trace.time(k);
        while (row + 1 < t.size() && t[row] < when) ++row;
        double const step = t[row] - t[row - 1];
        double const w = std::clamp((when - t[row - 1]) / step, 0.0, 1.0);
        for (std::size_t s = 0; s < rows.signals.size(); ++s)
            trace.signals[s][k] = between(rows.signals[s][row - 1], rows.signals[s][row], w);
        if (step > longest_step && w > 0 && w < 1) {
            if (!trace.gaps.empty() && trace.gaps.back().last + 1 == k)
                trace.gaps.back().last = k;
            else
                trace.gaps.push_back({k, k});
        }
    }
}

}  // namespace

float between(float a, float b, double w) {
    return static_cast<float>(static_cast<double>(a) * (1 - w) + static_cast<double>(b) * w);
}

Result<> put_on_grid(SampledRows const& rows, Trace& trace, GridOptions const& options) {
    auto const& t = rows.time_s;
    auto const refuse = [&](std::string what, std::string mend) {
        return fail(Errc::bad_input, std::move(what), trace.source, std::move(mend));
    };
    double const latest = std::max(std::abs(t.front()), std::abs(t.back()));
    if (!(latest <= options.latest_time_s))
        return refuse(fmt::format("The time column reaches {} s.", latest),
                      "check the unit of the time column");
    double const median = median_step(t);
    double const printed = rounding_left(t, median, rows.time_step_printed);
    double const guess = mean_step_without_gaps(t, options.gap_steps * median + printed);
    double const longest_step = options.gap_steps * guess + printed;
    Fit const fit = fit_stretches(t, longest_step, guess);
    double const d = snapped(fit, rows, printed);
    if (!(d >= options.shortest_interval_s && d <= options.longest_interval_s))
        return refuse(fmt::format("The samples are {} s apart; {} to {} s can be read.",
                                  d,
                                  options.shortest_interval_s,
                                  options.longest_interval_s),
                      "check the unit of the time column");
    trace.interval_s = d;
    trace.start_s = std::abs(fit.offset - t.front()) <= std::max(2 * printed, 0.01 * d)
                        ? t.front()
                        : fit.offset;

    double const span = std::round((t.back() - trace.start_s) / d) + 1;
    auto const most =
        static_cast<double>(std::min(options.most_samples, options.most_growth * t.size()));
    if (span > most)
        return refuse(fmt::format("The {} rows would have to be stretched to {:.0f} samples; most "
                                  "of the run is missing.",
                                  t.size(),
                                  span),
                      "check the time column, or cut the file at its gaps");

    std::vector<std::size_t> at(t.size(), 0);
    bool on_grid = true;
    for (std::size_t i = 0; i < t.size() && on_grid; ++i) {
        double const exact = (t[i] - trace.start_s) / d;
        double const point = i == 0 ? 0.0 : std::round(exact);
        // Never two rows on one point: rounding may push two neighbours together.
        bool const step_is_gap = i > 0 && t[i] - t[i - 1] > longest_step;
        double const wanted = i == 0 || step_is_gap ? point : static_cast<double>(at[i - 1] + 1);
        on_grid = std::abs(exact - wanted) <= options.jitter + printed / d && wanted >= 0 &&
                  (i == 0 || wanted > static_cast<double>(at[i - 1]));
        if (on_grid) at[i] = static_cast<std::size_t>(wanted);
    }
    if (on_grid) {
        place(rows, at, trace);
    } else {
        trace.start_s = t.front();
        auto const samples =
            static_cast<std::size_t>(std::floor((t.back() - t.front()) / d + 1e-6)) + 1;
        resample(rows, samples, longest_step, trace);
        trace.warnings.push_back(
            fmt::format("{}: the times stray from an even grid by more than a quarter interval; "
                        "the samples were put "
                        "on a grid of {} s by straight lines.",
                        trace.source,
                        shortest(d)));
    }
    if (!trace.gaps.empty()) trace.warnings.push_back(gap_warning(trace));
    return {};
}

}  // namespace gw::trace

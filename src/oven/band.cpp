#include "oven/band.hpp"

#include <algorithm>
#include <array>
#include <cmath>

// The same loop compiled twice and chosen when the program starts: four cells at once where the
// processor can, two elsewhere. No fused operations, so both give the same bytes. The thread
// sanitizer cannot start with such a choice.
// Under the sanitizers g++ 12 falls over such clones.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && \
    !defined(__SANITIZE_THREAD__) && !defined(__SANITIZE_ADDRESS__)
#define GW_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define GW_WIDE
#endif

namespace gw::oven {

namespace {

// Half width of a Gaussian kernel in standard deviations: what lies outside is below `negligible`.
constexpr double kernel_reach = 7.2;
// Fewer steps than this are walked one by one: a leap costs a convolution.
constexpr std::size_t shortest_leap = 24;

// out[i - 1] = new amount of cell i: the whole band comes to stand one place lower, so that every
// value is read before it is overwritten and the loop can run several cells at once.
GW_WIDE void spread_in_place(double* a, std::size_t count, double d) {
    double const first = a[0] + d * (a[1] - a[0]);
    double const last = a[count - 1] + d * (a[count - 2] - a[count - 1]);
    double const keep = 1 - 2 * d;
    a[-1] = first;
    for (std::size_t i = 1; i + 1 < count; ++i) {
        // The sum keeps what leaves one cell equal to what enters the next, to rounding.
        a[i - 1] = keep * a[i] + d * (a[i - 1] + a[i + 1]);
    }
    a[count - 2] = last;
}

GW_WIDE void add_scaled(double* __restrict out,
                        double const* __restrict in,
                        std::size_t count,
                        double factor) {
    for (std::size_t j = 0; j < count; ++j) out[j] += factor * in[j];
}

std::vector<double> gaussian_kernel(double variance) {
    auto const reach = static_cast<std::size_t>(std::ceil(kernel_reach * std::sqrt(variance)));
    std::vector<double> kernel(reach + 1);
    double sum = 0;
    for (std::size_t i = 0; i <= reach; ++i) {
        auto const x = static_cast<double>(i);
        kernel[i] = std::exp(-x * x / (2 * variance));
        sum += (i == 0 ? 1 : 2) * kernel[i];
    }
    for (double& k : kernel) k /= sum;
    return kernel;
}

// Cumulative amount at x cells from the start of `edges`' first edge, by the polynomial through six
// edges, kept between the two nearest: amounts stay positive.
double between_edges(std::vector<double> const& edges, double x) {
    auto const n = edges.size() - 1;
    auto const cell = std::min(static_cast<std::size_t>(std::max(x, 0.0)), n - 1);
    std::size_t const points = std::min<std::size_t>(6, n + 1);
    std::size_t start = cell >= points / 2 - 1 ? cell - (points / 2 - 1) : 0;
    start = std::min(start, n + 1 - points);
    double sum = 0;
    for (std::size_t i = 0; i < points; ++i) {
        double weight = 1;
        for (std::size_t j = 0; j < points; ++j)
            if (j != i)
                weight *= (x - static_cast<double>(start + j)) /
                          (static_cast<double>(i) - static_cast<double>(j));
        sum += weight * edges[start + i];
    }
    return std::clamp(
        sum, std::min(edges[cell], edges[cell + 1]), std::max(edges[cell], edges[cell + 1]));
}

}  // namespace

Band::Band(std::size_t cells, double variance)
    : column_(cells),
      variance_(variance),
      passes_(std::max(1, static_cast<int>(std::ceil(variance * 3 - 0.02)))) {}

double Band::total() const {
    double sum = 0;
    for (std::size_t i = 0; i < count_; ++i) sum += store_[head_ + i];
    return sum;
}

std::vector<double> Band::cells() const {
    std::vector<double> out(column_);
    std::copy_n(store_.begin() + static_cast<std::ptrdiff_t>(head_),
                count_,
                out.begin() + static_cast<std::ptrdiff_t>(first_));
    return out;
}

void Band::mirror() {
    auto const begin = store_.begin() + static_cast<std::ptrdiff_t>(head_);
    std::reverse(begin, begin + static_cast<std::ptrdiff_t>(count_));
    first_ = column_ - first_ - count_;
}

void Band::make_room(std::size_t left) {
    if (head_ >= left && head_ + count_ + 2 <= store_.size()) return;
    std::size_t const slack = std::max<std::size_t>(left, 2 * count_ + 512);
    std::vector<double> moved(slack + count_ + 16);
    std::copy_n(store_.begin() + static_cast<std::ptrdiff_t>(head_),
                count_,
                moved.begin() + static_cast<std::ptrdiff_t>(slack));
    store_.swap(moved);
    head_ = slack;
}

void Band::prepend(double amount) {
    if (count_ == 0) {
        make_room(1);
        store_[head_] = amount;
        first_ = 0;
        count_ = 1;
        return;
    }
    make_room(first_ + 1);
    while (first_ > 0) {
        store_[--head_] = 0;
        --first_;
        ++count_;
    }
    store_[head_] += amount;
}

void Band::spread_one_pass(double d) {
    if (count_ == 0) return;
    make_room(3);
    if (first_ > 0) {
        store_[--head_] = 0;
        --first_;
        ++count_;
    }
    if (first_ + count_ < column_) store_[head_ + count_++] = 0;
    if (count_ < 2) return;
    spread_in_place(store_.data() + head_, count_, d);
    --head_;
}

// What is cut off at the rims goes into the next cell: nothing is lost.
void Band::trim() {
    while (count_ > 1 && store_[head_] < negligible * 1e-1) {
        store_[head_ + 1] += store_[head_];
        ++head_;
        ++first_;
        --count_;
    }
    while (count_ > 1 && store_[head_ + count_ - 1] < negligible * 1e-1) {
        store_[head_ + count_ - 2] += store_[head_ + count_ - 1];
        --count_;
    }
}

void Band::spread(double variance) {
    auto const passes = std::max(1, static_cast<int>(std::ceil(variance * 3 - 0.02)));
    for (int p = 0; p < passes; ++p) spread_one_pass(variance / 2 / passes);
    trim();
}

double Band::advance(double inflow) {
    double left = 0;
    if (count_ > 0 && first_ + count_ == column_) {
        left = store_[head_ + count_ - 1];
        --count_;
    }
    if (count_ > 0) ++first_;
    if (inflow != 0) {
        if (count_ > 0) {
            prepend(inflow);
        } else {
            make_room(1);
            store_[head_] = inflow;
            first_ = 0;
            count_ = 1;
        }
    }
    for (int p = 0; p < passes_; ++p) spread_one_pass(variance_ / 2 / passes_);
    trim();
    return left;
}

// The cells' edges move by a part of a cell against the material: amounts are taken anew from the
// cumulative amount, so that nothing is lost.
double Band::advance_part(double part, double inflow) {
    double left = 0;
    if (count_ > 0) {
        // Edges of the band, with empty cells beside it as far as the column goes.
        std::size_t const below = std::min<std::size_t>(first_, 4),
                          above = std::min<std::size_t>(column_ - first_ - count_, 4);
        std::size_t const n = count_ + below + above;
        std::vector<double> edges(n + 1);
        for (std::size_t i = 0; i < n; ++i) {
            bool const inside = i >= below && i < below + count_;
            edges[i + 1] = edges[i] + (inside ? store_[head_ + i - below] : 0.0);
        }
        bool const at_outlet = first_ + count_ + above == column_;
        std::vector<double> cells(n);
        double previous = 0;  // material that stands before the first of these edges: none
        for (std::size_t i = 0; i < n; ++i) {
            double const next = between_edges(edges, static_cast<double>(i + 1) - part);
            cells[i] = next - previous;
            previous = next;
        }
        double const beyond = edges[n] - previous;
        if (at_outlet)
            left = beyond;
        else
            cells[n - 1] += beyond;  // an empty margin: nothing but rounding
        make_room(below);
        head_ -= below;
        first_ -= below;
        count_ = n;
        if (head_ + count_ > store_.size()) store_.resize(head_ + count_);
        std::copy(cells.begin(), cells.end(), store_.begin() + static_cast<std::ptrdiff_t>(head_));
    }
    if (inflow != 0) prepend(inflow);
    spread(variance_ * part);
    return left;
}

std::size_t Band::leap(std::size_t most) {
    if (first_ < 4 || first_ + count_ >= column_) return 0;
    std::size_t const room = column_ - first_ - count_;
    // steps + reach(steps) must fit into the room.
    double const root = std::sqrt(variance_) * kernel_reach;
    double const x = (-root + std::sqrt(root * root + 4 * (static_cast<double>(room) - 2))) / 2;
    if (!(x > 0)) return 0;
    std::size_t const steps = std::min(most, static_cast<std::size_t>(x * x));
    if (steps < shortest_leap) return 0;
    auto const kernel = gaussian_kernel(static_cast<double>(steps) * variance_);
    std::size_t const reach = kernel.size() - 1;
    if (first_ + steps < reach || reach + steps > room) return 0;
    std::vector<double> wide(count_ + 2 * reach);
    std::vector<double> whole(2 * reach + 1);
    for (std::size_t i = 0; i <= reach; ++i) whole[reach - i] = whole[reach + i] = kernel[i];
    for (std::size_t i = 0; i < count_; ++i)
        add_scaled(wide.data() + i, whole.data(), whole.size(), store_[head_ + i]);
    first_ = first_ + steps - reach;
    count_ = wide.size();
    head_ = 0;
    store_.swap(wide);
    trim();
    return steps;
}

Curve Band::flow(
    bool backward, double begin, double end, double step, Inflow const& inflow, double share) {
    Curve out;
    out.begin = begin;
    out.end = end;
    out.step = step;
    double const all = (end - begin) / step;
    auto n = static_cast<std::size_t>(all + 1e-9);
    double const part = std::max(all - static_cast<double>(n), 0.0);
    if (empty() && inflow.nothing()) {
        out.at.assign(1, 0.0);
        return out;
    }
    if (backward) mirror();
    out.at.assign(n + 1, 0.0);
    double passed = 0, given = inflow.nothing() ? 0.0 : inflow.passed(begin);
    for (std::size_t k = 0; k < n;) {
        double const now = begin + static_cast<double>(k) * step;
        std::size_t skipped = 0;
        bool const no_more = inflow.nothing() || now >= inflow.until();
        if (empty()) {
            // Nothing here: wait for what comes.
            if (no_more)
                skipped = n - k;
            else if (inflow.from() > now + step)
                skipped = std::min(n - k, static_cast<std::size_t>((inflow.from() - now) / step));
        } else if (no_more) {
            skipped = leap(n - k);
        } else if (inflow.from() > now + static_cast<double>(shortest_leap) * step) {
            skipped = leap(std::min(n - k, static_cast<std::size_t>((inflow.from() - now) / step)));
        }
        if (skipped > 0) {
            for (std::size_t i = 0; i < skipped; ++i) out.at[++k] = passed;
            continue;
        }
        double entering = 0;
        if (!no_more) {
            double const total = inflow.passed(std::min(now + step, end));
            entering = total - given;
            given = total;
        }
        passed += advance(share * entering);
        out.at[++k] = passed;
    }
    double entering = 0;
    if (!inflow.nothing()) entering = share * (inflow.passed(end) - given);
    if (part > 1e-9)
        passed += advance_part(part, entering);
    else if (entering != 0)
        prepend(entering);
    out.total = passed;
    if (backward && count_ > 0) mirror();
    out.find_support();
    return out;
}

void Band::rest(double variance) {
    if (count_ == 0 || variance <= 0) return;
    if (variance < 8) {
        spread(variance);
        return;
    }
    auto const kernel = gaussian_kernel(variance);
    auto const reach = static_cast<std::ptrdiff_t>(kernel.size()) - 1;
    auto const cells = static_cast<std::ptrdiff_t>(column_);
    std::vector<double> wide(column_), whole(2 * kernel.size() - 1);
    for (std::size_t i = 0; i < kernel.size(); ++i)
        whole[kernel.size() - 1 - i] = whole[kernel.size() - 1 + i] = kernel[i];
    // Closed ends: what would leave is mirrored back, as often as it takes.
    auto const inside = [&](std::ptrdiff_t j) {
        std::ptrdiff_t const period = 2 * cells;
        j = ((j % period) + period) % period;
        return j < cells ? j : period - 1 - j;
    };
    for (std::size_t i = 0; i < count_; ++i) {
        double const amount = store_[head_ + i];
        auto const at = static_cast<std::ptrdiff_t>(first_ + i);
        if (at - reach >= 0 && at + reach < cells) {
            add_scaled(wide.data() + (at - reach), whole.data(), whole.size(), amount);
            continue;
        }
        for (std::ptrdiff_t j = -reach; j <= reach; ++j)
            wide[inside(at + j)] += amount * kernel[std::abs(j)];
    }
    store_.swap(wide);
    head_ = 0;
    first_ = 0;
    count_ = column_;
    trim();
}

}  // namespace gw::oven

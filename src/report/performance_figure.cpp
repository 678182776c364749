#include "report/performance_figure.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "report/label_layout.hpp"
#include "report/palette.hpp"

namespace gw::report {

namespace {

constexpr double size = 7.5;

// White at zero; 1 at the end of the scale.
Ink shade(double share) {
    double const depth = 0.75 * std::min(std::abs(share), 1.0);
    Ink const end = share > 0 ? alarm : accent;
    return {1 - depth * (1 - end.red), 1 - depth * (1 - end.green), 1 - depth * (1 - end.blue)};
}

std::optional<double> limit_of(assay::PerformanceSpec const& spec) {
    return spec.limit_percent[static_cast<std::size_t>(gas::RealProperty::gross_cv_volume)];
}

// With a sign, never a negative nothing; one digit more where the whole map is small.
std::string signed_text(double percent, double largest) {
    auto const text = fixed(percent, largest < 0.02 ? 4 : 3);
    return percent > 0 && text.find_first_of("123456789") != std::string::npos ? "+" + text : text;
}

void draw_axes(Canvas& canvas,
               Box plot,
               assay::PerformanceSpec const& spec,
               assay::PerformanceMap const& map) {
    canvas.frame(plot, {soft, 0.6, {}});
    Type const words{size, false, false, soft};
    auto const horizontal = round_ticks(100 * spec.low[map.across], 100 * spec.high[map.across], 6);
    for (double const tick : horizontal) {
        double const x = plot.x + plot.width * (tick / 100 - spec.low[map.across]) /
                                      (spec.high[map.across] - spec.low[map.across]);
        canvas.line({x, plot.bottom()}, {x, plot.bottom() + 3}, {soft, 0.5, {}});
        canvas.text({x - 20, plot.bottom() + 4, 40, 10},
                    fixed(tick, tick_decimals(horizontal)),
                    words,
                    Align::centre);
    }
    auto const vertical = round_ticks(100 * spec.low[map.up], 100 * spec.high[map.up], 6);
    for (double const tick : vertical) {
        double const y = plot.bottom() - plot.height * (tick / 100 - spec.low[map.up]) /
                                             (spec.high[map.up] - spec.low[map.up]);
        canvas.line({plot.x - 3, y}, {plot.x, y}, {soft, 0.5, {}});
        canvas.text({plot.x - 40, y - 0.6 * size, 35, 10},
                    fixed(tick, tick_decimals(vertical)),
                    words,
                    Align::right);
    }
    canvas.text({plot.x, plot.bottom() + 15, plot.width, 10},
                fmt::format("{}, mol%", gas::name(spec.components[map.across])),
                words,
                Align::centre);
    canvas.text({plot.x - 40, plot.y - 14, plot.width, 10},
                fmt::format("{}, mol%", gas::name(spec.components[map.up])),
                words);
}

void draw_cells(Canvas& canvas,
                Box plot,
                assay::PerformanceSpec const& spec,
                assay::PerformanceMap const& map) {
    auto const limit = limit_of(spec);
    double const scale = map.largest;
    std::size_t const columns = map.x.size(), rows = map.y.size();
    double const w = plot.width / static_cast<double>(columns),
                 h = plot.height / static_cast<double>(rows);
    auto const at = [&](std::size_t i, std::size_t j) {
        return map.error_percent[j * columns + i];
    };
    auto const cell = [&](std::size_t i, std::size_t j) {
        return Box{plot.x + w * static_cast<double>(i),
                   plot.bottom() - h * static_cast<double>(j + 1),
                   w,
                   h};
    };
    auto const outside = [&](std::size_t i, std::size_t j) {
        return limit && std::isfinite(at(i, j)) && std::abs(at(i, j)) > *limit;
    };
    for (std::size_t j = 0; j < rows; ++j)
        for (std::size_t i = 0; i < columns; ++i) {
            auto box = cell(i, j);
            box.width += 0.15;  // no hair lines between neighbours
            box.height += 0.15;
            canvas.fill(box, std::isfinite(at(i, j)) && scale > 0 ? shade(at(i, j) / scale) : hair);
        }
    Pen const edge{ink, 0.9, {2, 1.5}};
    for (std::size_t j = 0; j < rows; ++j)
        for (std::size_t i = 0; i < columns; ++i) {
            auto const box = cell(i, j);
            if (i + 1 < columns && outside(i, j) != outside(i + 1, j))
                canvas.line({box.right(), box.y}, {box.right(), box.bottom()}, edge);
            if (j + 1 < rows && outside(i, j) != outside(i, j + 1))
                canvas.line({box.x, box.y}, {box.right(), box.y}, edge);
        }
    // Numbers on a coarse grid: the shade is never the only sign.
    std::size_t const step = std::max<std::size_t>(columns / 6, 1);
    for (std::size_t j = step / 2; j < rows; j += step)
        for (std::size_t i = step / 2; i < columns; i += step) {
            if (!std::isfinite(at(i, j))) continue;
            auto const box = cell(i, j);
            canvas.text({box.x + 0.5 * w - 20, box.y + 0.5 * h - 0.6 * size, 40, 10},
                        signed_text(at(i, j), map.largest),
                        {size, false, false, ink},
                        Align::centre);
        }
}

void draw_gases(Canvas& canvas,
                Box plot,
                assay::PerformanceSpec const& spec,
                assay::PerformanceMap const& map) {
    auto const inside = canvas.clip(plot);
    for (std::size_t g = 0; g < spec.gases.size(); ++g) {
        auto const& percent = spec.gases[g].percent;
        Point const at{
            plot.x + plot.width * (percent[map.across].value / 100 - spec.low[map.across]) /
                         (spec.high[map.across] - spec.low[map.across]),
            plot.bottom() - plot.height * (percent[map.up].value / 100 - spec.low[map.up]) /
                                (spec.high[map.up] - spec.low[map.up])};
        canvas.ring(at, 3.2, {ink, 1, {}});
        if (g == spec.calibration_gas) canvas.disc(at, 2, ink);
    }
}

}  // namespace

void draw_performance_map(Canvas& canvas,
                          Box box,
                          assay::PerformanceSpec const& spec,
                          assay::PerformanceMap const& map) {
    canvas.text({box.x, box.y, box.width, 12},
                "Error of the calorific value, %, over two components of the range",
                {9, true, false, ink});
    Box const plot{box.x + 44, box.y + 36, box.width - 54, box.height - 36 - 52};
    draw_cells(canvas, plot, spec, map);
    draw_gases(canvas, plot, spec, map);
    draw_axes(canvas, plot, spec, map);
    auto const limit = limit_of(spec);
    canvas.text(
        {box.x, plot.bottom() + 28, box.width, 10},
        fmt::format("numbers: error, %; warm: reads high, cool: low; {}grey: {} would leave "
                    "its range",
                    limit ? fmt::format("dashed: edge of the limit of {} %; ", shortest(*limit))
                          : std::string(),
                    gas::name(spec.components[map.rest])),
        {size, false, false, soft});
    canvas.text({box.x, plot.bottom() + 39, box.width, 10},
                fmt::format("rings: reference gases; filled: calibration gas; other components at "
                            "the middle of their range, {} takes the rest",
                            gas::name(spec.components[map.rest])),
                {size, false, false, soft});
}

std::string performance_map_description(assay::PerformanceSpec const& spec,
                                        assay::PerformanceMap const& map) {
    double low = 0, high = 0;
    bool first = true;
    for (double const e : map.error_percent) {
        if (!std::isfinite(e)) continue;
        low = first ? e : std::min(low, e);
        high = first ? e : std::max(high, e);
        first = false;
    }
    return fmt::format(
        "Error of the calorific value over {} from {:.4g} to {:.4g} mol% and {} from {:.4g} to "
        "{:.4g} mol%: from {:+.4f} % to {:+.4f} %.",
        gas::name(spec.components[map.across]),
        100 * spec.low[map.across],
        100 * spec.high[map.across],
        gas::name(spec.components[map.up]),
        100 * spec.low[map.up],
        100 * spec.high[map.up],
        low,
        high);
}

}  // namespace gw::report

#include "desk/oven_draw.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/hash.hpp"
#include "report/output.hpp"
#include "report/palette.hpp"

namespace gw::desk {

namespace {

constexpr double tail = 0.025;        // a band is drawn from this share of it to the rest
constexpr double least_share = 5e-3;  // of one injection: less in a column is not drawn
constexpr int moments_drawn = 480;    // over the cycle

/// Where a band stood at one moment, as shares of the column's length.
struct Place {
    double t{}, from{}, middle{}, to{}, share{};
};
using Bands = std::map<std::pair<std::size_t, std::size_t>, std::vector<Place>>;  // species, column

Place place_of(double t, std::vector<double> const& cells) {
    Place p;
    p.t = t;
    for (double const a : cells) p.share += a;
    if (p.share < least_share) return p;
    double sum = 0;
    auto const n = static_cast<double>(cells.size());
    for (std::size_t i = 0; i < cells.size(); ++i) {
        double const next = sum + cells[i];
        for (auto const& [level, at] :
             {std::pair{tail, &p.from}, std::pair{0.5, &p.middle}, std::pair{1 - tail, &p.to}}) {
            double const goal = level * p.share;
            if (sum < goal && next >= goal)
                *at = (static_cast<double>(i) + (goal - sum) / (next - sum)) / n;
        }
        sum = next;
    }
    return p;
}

/// Three tints that differ in lightness, so that neighbours are told apart in grey too.
report::Ink tint(std::size_t i) {
    constexpr report::Ink tints[] = {
        report::peak_tint, report::peak_tint_other, {0.90, 0.79, 0.66}};
    return tints[i % 3];
}

class Figure {
  public:
    Figure(report::Canvas& canvas,
           oven::Oven const& oven,
           oven::Simulated const& run,
           Bands const& bands,
           std::string const& title)
        : canvas_(canvas), oven_(oven), run_(run), bands_(bands) {
        auto const size = canvas.size();
        canvas_.fill(report::Box{0, 0, size.width, size.height}, report::sheet);
        canvas_.text(
            {left, 8, size.width - left - right, 14}, title, {10, true, false, report::ink});
        double const top = 28, bottom = 34;
        double const lanes =
            13.0 * static_cast<double>(std::max<std::size_t>(oven.flags.size(), 1));
        double const rest = size.height - top - bottom - lanes - gap;
        double const panels = static_cast<double>(oven.columns.size()) +
                              0.8 * static_cast<double>(oven.detectors.size());
        double const each = rest / panels;
        double y = top;
        width_ = size.width - left - right;
        for (std::size_t c = 0; c < oven.columns.size(); ++c, y += each)
            column(c, {left, y, width_, each - gap});
        for (std::size_t d = 0; d < oven.detectors.size(); ++d, y += 0.8 * each)
            detector(d, {left, y, width_, 0.8 * each - gap});
        valves({left, y, width_, lanes});
        axis(y + lanes);
        for (auto const& event : oven.programme) {
            double const x = at(event.at_s);
            canvas_.line({x, top}, {x, y + lanes}, {report::soft, 0.5, {2, 2}});
        }
    }

  private:
    static constexpr double left = 78, right = 14, gap = 9;

    [[nodiscard]] double at(double t) const {
        return left + width_ * std::clamp(t / oven_.cycle_s, 0.0, 1.0);
    }

    void column(std::size_t c, report::Box box) {
        auto const& column = oven_.columns[c];
        canvas_.fill(box, report::wash);
        // The outlet, as seen going forward, is at the top.
        auto const point = [&](double t, double s) {
            return report::Point{at(t), box.bottom() - s * box.height};
        };
        std::vector<std::pair<report::Point, std::string>> labels;
        for (auto const& entry : bands_) {
            if (entry.first.second != c) continue;
            auto const species = entry.first.first;
            auto const& places = entry.second;
            for (std::size_t i = 0; i < places.size();) {
                if (places[i].share < least_share) {
                    ++i;
                    continue;
                }
                std::size_t j = i;
                while (j < places.size() && places[j].share >= least_share) ++j;
                std::vector<report::Point> shape, middle;
                for (std::size_t k = i; k < j; ++k)
                    shape.push_back(point(places[k].t, places[k].to));
                for (std::size_t k = j; k-- > i;)
                    shape.push_back(point(places[k].t, places[k].from));
                for (std::size_t k = i; k < j; ++k)
                    middle.push_back(point(places[k].t, places[k].middle));
                if (j - i > 1) {
                    canvas_.fill(shape, tint(species));
                    canvas_.path(middle, {report::accent, 0.7, {}});
                    std::size_t const k = i + (j - i) * 2 / 3;
                    labels.emplace_back(point(places[k].t, places[k].middle),
                                        std::string(gas::name(oven_.species[species].component)));
                }
                i = j;
            }
        }
        canvas_.frame(box, {report::soft, 0.6, {}});
        // A name is left out where it would lie on another.
        std::vector<report::Box> taken;
        for (auto const& label : labels) {
            report::Type const type{6.5, false, false, report::ink};
            auto const size = canvas_.measure(label.second, type);
            report::Box const place{
                std::clamp(label.first.x + 2, box.x + 1, box.right() - size.width - 1),
                std::clamp(
                    label.first.y - size.height - 1, box.y + 1, box.bottom() - size.height - 1),
                size.width + 1,
                size.height};
            bool const free = std::none_of(taken.begin(), taken.end(), [&](report::Box const& b) {
                return b.x < place.right() && place.x < b.right() && b.y < place.bottom() &&
                       place.y < b.bottom();
            });
            if (!free) continue;
            taken.push_back(place);
            canvas_.text(place, label.second, type);
        }
        canvas_.text({4, box.y + box.height / 2 - 10, left - 10, 12},
                     "column " + column.id,
                     {8, true, false, report::ink});
        canvas_.text({4, box.y, left - 10, 9}, "outlet", {6.5, false, false, report::soft});
        canvas_.text(
            {4, box.bottom() - 9, left - 10, 9}, "inlet", {6.5, false, false, report::soft});
    }

    void detector(std::size_t d, report::Box box) {
        auto const total = run_.total(d);
        double const top = *std::max_element(total.begin(), total.end());
        std::vector<report::Point> line;
        // Square root: small peaks stay visible beside methane.
        for (std::size_t i = 0; i < total.size(); ++i)
            line.push_back({at(static_cast<double>(i) * run_.interval_s),
                            box.bottom() - box.height * std::sqrt(std::max(total[i], 0.0) /
                                                                  std::max(top, 1e-300))});
        canvas_.path(line, {report::ink, 0.7, {}});
        canvas_.line({box.x, box.bottom()}, {box.right(), box.bottom()}, {report::soft, 0.5, {}});
        canvas_.text({4, box.y + box.height / 2 - 12, left - 10, 12},
                     fmt::format("detector {}", d + 1),
                     {8, true, false, report::ink});
        canvas_.text({4, box.y + box.height / 2, left - 10, 9},
                     "square root of signal",
                     {6.5, false, false, report::soft});
    }

    void valves(report::Box box) {
        std::vector<bool> setting(oven_.flags.size());
        double now = 0;
        auto const bars = [&](double until) {
            for (std::size_t f = 0; f < setting.size(); ++f) {
                double const y = box.y + 13.0 * static_cast<double>(f);
                if (setting[f] && until > now)
                    canvas_.fill(report::Box{at(now), y + 2, at(until) - at(now), 8},
                                 report::accent);
            }
        };
        for (auto const& event : oven_.programme) {
            bars(event.at_s);
            now = std::max(event.at_s, 0.0);
            if (auto const* action = oven_.action(event.action))
                for (auto const& set : action->sets) setting[set.first] = set.second;
        }
        bars(oven_.cycle_s);
        for (std::size_t f = 0; f < setting.size(); ++f) {
            double const y = box.y + 13.0 * static_cast<double>(f);
            canvas_.line({box.x, y + 11}, {box.right(), y + 11}, {report::hair, 0.4, {}});
            canvas_.text({4, y + 1, left - 8, 10}, oven_.flags[f], {7, false, false, report::ink});
        }
    }

    void axis(double y) {
        double step = 1;
        for (double const s :
             {1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0, 3600.0}) {
            step = s;
            if (oven_.cycle_s / s <= 16) break;
        }
        for (double t = 0; t <= oven_.cycle_s + 1e-9; t += step) {
            canvas_.line({at(t), y}, {at(t), y + 4}, {report::soft, 0.6, {}});
            canvas_.text({at(t) - 20, y + 5, 40, 10},
                         fmt::format("{:g}", t),
                         {7, false, false, report::soft},
                         report::Align::centre);
        }
        canvas_.text({left + width_ - 60, y + 15, 60, 10},
                     "time, s",
                     {7, false, false, report::soft},
                     report::Align::right);
    }

    report::Canvas& canvas_;
    oven::Oven const& oven_;
    oven::Simulated const& run_;
    Bands const& bands_;
    double width_{};
};

}  // namespace

Result<OvenDrawing> oven_draw(OvenDrawRequest const& request) {
    GW_TRY(auto const format, report::format_of(request.output, "--output"));
    GW_TRY(auto const twin, load_twin(request.method));
    OvenDrawing out;
    oven::Faulty faulty{twin.oven, {}};
    faulty.amounts.assign(twin.oven.species.size(),
                          1.0 / static_cast<double>(twin.oven.species.size()));
    if (request.gas) {
        GW_TRY(faulty.amounts, load_amounts(*request.gas, twin, out.warnings));
    }
    for (auto const& shift : request.shifts)
        GW_CHECK(apply_shift(faulty.oven, shift, "--event-shift"));
    for (auto const& text : request.faults) {
        GW_TRY(auto const fault, oven::read_fault(text, "--fault"));
        GW_CHECK(oven::apply_fault(faulty, fault, "--fault"));
    }
    Bands bands;
    oven::SimulateOptions options;
    options.snapshot_s = faulty.oven.cycle_s / moments_drawn;
    options.snapshot =
        [&](double t, std::size_t species, std::size_t column, std::vector<double> const& cells) {
            if (faulty.amounts[species] > 0) bands[{species, column}].push_back(place_of(t, cells));
        };
    auto const run = oven::simulate(faulty.oven, faulty.amounts, options);
    for (auto const& entry : bands)
        out.bands += std::any_of(entry.second.begin(), entry.second.end(), [](Place const& p) {
            return p.share >= least_share;
        });
    double const height_mm = request.height_mm != 0
                                 ? request.height_mm
                                 : 40 + 48 * static_cast<double>(faulty.oven.columns.size()) +
                                       38 * static_cast<double>(faulty.oven.detectors.size());
    report::Size const size{request.width_mm * report::points_per_mm,
                            height_mm * report::points_per_mm};
    std::string columns;
    for (auto const& column : faulty.oven.columns) columns += " " + column.id;
    std::string events;
    for (auto const& event : faulty.oven.programme)
        events += fmt::format("; {} at {:g} s", event.action, event.at_s);
    report::DocumentInfo const info{
        twin.method.name, "Bands in the columns" + columns + " against time" + events + ".", {}};
    GW_TRY(auto const bytes, report::render(format, size, info, [&](report::Canvas& canvas) {
               Figure(canvas, faulty.oven, run, bands, twin.method.name);
           }));
    GW_CHECK(write_file(request.output, bytes));
    out.output = request.output;
    out.sha256 = sha256(bytes);
    out.bytes = bytes.size();
    return out;
}

Json oven_drawing_json(OvenDrawing const& drawing) {
    return Json{{"output", drawing.output},
                {"bytes", drawing.bytes},
                {"sha256", drawing.sha256},
                {"bands", drawing.bands},
                {"warnings", drawing.warnings}};
}

std::string oven_drawing_text(OvenDrawing const& drawing) {
    return fmt::format(
        "{}: {} bands drawn, {} kB\n", drawing.output, drawing.bands, (drawing.bytes + 999) / 1000);
}

}  // namespace gw::desk

#include "report/comparison.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "report/palette.hpp"
#include "report/verdict_mark.hpp"

namespace gw::report {

using metrology::Finding;
using metrology::Verdict;

namespace {

bool same(Finding const& a, Finding const& b) {
    return a.id == b.id && a.gas == b.gas && a.stream == b.stream;
}

bool stands_out(std::optional<Finding> const& f) {
    return f && (f->verdict == Verdict::fails || f->verdict == Verdict::unclear ||
                 f->verdict == Verdict::missing || f->verdict == Verdict::not_yet);
}

int rank(Pairing const& pairing) {
    if (pairing.required()) return 0;
    // What can be compared tells more than what was judged once only.
    bool const both = pairing.found && pairing.left;
    if (both && stands_out(pairing.left)) return 1;
    if (stands_out(pairing.found)) return 2;
    return stands_out(pairing.left) ? 3 : 4;
}

// Which values a row shows. Two limits take the middle half, and what strays further than half that
// width beyond them is an arrow. One limit stands at two thirds.
struct Scale {
    Box box;
    double from{}, to{};
    [[nodiscard]] double x(double value) const {
        return box.x + (value - from) / (to - from) * box.width;
    }
    [[nodiscard]] bool shows(double value) const { return value >= from && value <= to; }
};

Scale scale_of(Box box, Pairing const& pairing) {
    auto const& f = pairing.latest();
    double from = 0, to = 1;
    if (f.low && f.high && *f.high > *f.low) {
        double const width = *f.high - *f.low;
        from = *f.low - width / 2;
        to = *f.high + width / 2;
    } else {
        // The limit, nothing at all, and what was found decide together.
        double low = 0, high = 0;
        for (auto const& side : {f.low, f.high})
            if (side) {
                low = std::min(low, *side);
                high = std::max(high, *side);
            }
        double const limits = high - low;
        for (auto const* state : {&pairing.found, &pairing.left})
            if (*state && (*state)->value && limits == 0) {
                low = std::min(low, *(*state)->value);
                high = std::max(high, *(*state)->value);
            }
        double const width = high > low ? high - low : 1;
        from = low < 0 ? low - width / 2 : low - 0.06 * width;
        to = high > 0 ? high + width / 2 : high + 0.06 * width;
    }
    return {box, from, to};
}

void draw_state(
    Canvas& canvas, Scale const& scale, Finding const& f, double y, double r, bool left) {
    if (!f.value) return;
    auto const tone = colour(f.verdict);
    double const U = f.u ? f.k * *f.u : 0;
    if (!scale.shows(*f.value)) {
        bool const above = *f.value > scale.to;
        double const tip = above ? scale.box.right() : scale.box.x,
                     back = tip + (above ? -2.2 * r : 2.2 * r);
        std::vector<Point> const arrow{{tip, y}, {back, y - r}, {back, y + r}};
        if (left)
            canvas.fill(arrow, tone);
        else
            canvas.outline(arrow, {tone, 0.7, {}});
        return;
    }
    double const x = scale.x(*f.value);
    if (U > 0) {
        double const a = std::clamp(scale.x(*f.value - U), scale.box.x, scale.box.right()),
                     b = std::clamp(scale.x(*f.value + U), scale.box.x, scale.box.right());
        canvas.line({a, y}, {b, y}, {tone, 0.8, {}});
        if (scale.shows(*f.value - U))
            canvas.line({a, y - 0.8 * r}, {a, y + 0.8 * r}, {tone, 0.8, {}});
        if (scale.shows(*f.value + U))
            canvas.line({b, y - 0.8 * r}, {b, y + 0.8 * r}, {tone, 0.8, {}});
    }
    if (left) {
        canvas.disc({x, y}, r, tone);
    } else {
        canvas.disc({x, y}, r, sheet);
        canvas.ring({x, y}, r - 0.35, {tone, 0.8, {}});
    }
}

struct Columns {
    double title{}, bars{}, found{}, left{}, limit{}, gap{};
};

Columns columns_of(double width) {
    double const gap = 8, room = width - 4 * gap;
    return {0.285 * room, 0.165 * room, 0.18 * room, 0.18 * room, 0.19 * room, gap};
}

// a, b, ... z, aa, ...: as many sources as a criteria set may have.
std::string name_of(std::size_t i) {
    std::string const last(1, static_cast<char>('a' + i % 26));
    return i < 26 ? last : name_of(i / 26 - 1) + last;
}

std::string letter(std::vector<std::string>& sources, std::string const& source) {
    auto const at = std::find(sources.begin(), sources.end(), source);
    auto const i = static_cast<std::size_t>(at - sources.begin());
    if (at == sources.end()) sources.push_back(source);
    return name_of(i);
}

void draw_state_cell(Canvas& canvas, Box box, std::optional<Finding> const& finding, double size) {
    double const line = 1.22 * size;
    if (!finding) {
        canvas.text({box.x + 1.5 * size, box.y, box.width - 1.5 * size, line},
                    "not judged",
                    {size, false, true, soft});
        return;
    }
    draw_mark(canvas, {box.x + 0.45 * size, box.y + 0.58 * size}, 0.4 * size, finding->verdict);
    canvas.text({box.x + 1.5 * size, box.y, box.width - 1.5 * size, line},
                word(finding->verdict),
                {size, true, false, colour(finding->verdict)});
    canvas.text({box.x + 1.5 * size, box.y + line, box.width - 1.5 * size, line},
                metrology::value_text(*finding),
                {size, false, false, ink});
}

}  // namespace

std::vector<Pairing> paired(std::vector<Finding> const& as_found,
                            std::vector<Finding> const& as_left) {
    std::vector<Pairing> out;
    for (auto const& f : as_found) out.push_back({f, std::nullopt});
    for (auto const& f : as_left) {
        auto const match = std::find_if(out.begin(), out.end(), [&](Pairing const& p) {
            return p.found && !p.left && same(*p.found, f);
        });
        if (match == out.end())
            out.push_back({std::nullopt, f});
        else
            match->left = f;
    }
    std::stable_sort(out.begin(), out.end(), [](Pairing const& a, Pairing const& b) {
        return rank(a) < rank(b);
    });
    return out;
}

std::string title_of(Finding const& finding) {
    std::string text = finding.title.empty() ? finding.id : finding.title;
    if (finding.gas == "line") text += ", line gas";
    if (!finding.stream.empty()) text += ", stream\u00A0" + finding.stream;
    if (finding.provisional) text += ", provisional";
    return text;
}

void draw_bars(Canvas& canvas, Box box, Pairing const& pairing) {
    auto const scale = scale_of(box, pairing);
    auto const& f = pairing.latest();
    double const from = f.low ? scale.x(*f.low) : box.x,
                 to = f.high ? scale.x(*f.high) : box.right();
    if (f.low || f.high) canvas.fill(Box{from, box.y, std::max(to - from, 0.4), box.height}, wash);
    canvas.line(
        {box.x, box.y + box.height / 2}, {box.right(), box.y + box.height / 2}, {hair, 0.4, {}});
    for (auto const& limit : {f.low, f.high})
        if (limit)
            canvas.line({scale.x(*limit), box.y}, {scale.x(*limit), box.bottom()}, {ink, 0.9, {}});
    double const r = std::min(0.14 * box.height, 2.2);
    bool const both = pairing.found && pairing.left;
    if (pairing.found)
        draw_state(
            canvas, scale, *pairing.found, box.y + (both ? 0.27 : 0.5) * box.height, r, false);
    if (pairing.left)
        draw_state(canvas, scale, *pairing.left, box.y + (both ? 0.73 : 0.5) * box.height, r, true);
}

double comparison_row_height(double type_size) { return 2.95 * type_size; }
double comparison_foot_height(double type_size) { return 2.5 * type_size; }
double comparison_head_height(double type_size) { return 2.9 * type_size; }

std::size_t draw_comparison(Canvas& canvas,
                            Box box,
                            std::vector<Pairing> const& pairings,
                            double size) {
    auto const c = columns_of(box.width);
    double const x_bars = box.x + c.title + c.gap, x_found = x_bars + c.bars + c.gap,
                 x_left = x_found + c.found + c.gap, x_limit = x_left + c.left + c.gap,
                 line = 1.22 * size, row = comparison_row_height(size);
    Type const head{size, true, false, soft}, fine{0.86 * size, false, false, soft};
    canvas.text({box.x, box.y, c.title, line}, "Finding", head);
    canvas.text({box.x, box.y + line, c.title, line}, "* required: it decides", fine);
    canvas.text({x_bars, box.y, c.bars, line}, "Against its limits", head);
    {
        double const y = box.y + line + 0.5 * size, r = 0.28 * size;
        canvas.ring({x_bars + r, y}, r - 0.35, {soft, 0.8, {}});
        canvas.text({x_bars + 0.9 * size, box.y + line, 3.4 * size, line}, "found", fine);
        canvas.disc({x_bars + 4.6 * size, y}, r, soft);
        canvas.text({x_bars + 5.2 * size, box.y + line, c.bars - 5.2 * size, line}, "left", fine);
    }
    canvas.text({x_found, box.y, c.found, line}, "As found", head);
    canvas.text(
        {x_found + 1.5 * size, box.y + line, c.found - 1.5 * size, line}, "value ± U", fine);
    canvas.text({x_left, box.y, c.left, line}, "As left", head);
    canvas.text({x_left + 1.5 * size, box.y + line, c.left - 1.5 * size, line}, "value ± U", fine);
    canvas.text({x_limit, box.y, c.limit, line}, "Limit", head);
    canvas.text({x_limit, box.y + line, c.limit, line}, "rule, source of the limit", fine);
    double y = box.y + comparison_head_height(size);

    double const foot = comparison_foot_height(size);
    auto const rows_in = [&](double height) {
        return static_cast<std::size_t>(std::max(0.0, height / row + 1e-9));
    };
    double const height = box.bottom() - y - foot;
    bool const all = pairings.size() <= rows_in(height);
    auto const count = all ? pairings.size() : rows_in(height - 1.7 * size);
    std::vector<std::string> sources;
    for (std::size_t i = 0; i < count; ++i) {
        auto const& pairing = pairings[i];
        auto const& f = pairing.latest();
        bool const last_required = i > 0 && pairings[i - 1].required() && !pairing.required();
        canvas.line({box.x, y}, {box.right(), y}, {last_required || i == 0 ? soft : hair, 0.5, {}});
        double const top = y + 0.24 * size;
        canvas.paragraph({box.x, top, c.title, 2 * line},
                         title_of(f) + (f.required ? "\u00A0*" : ""),
                         {size, f.required, false, ink},
                         2);
        draw_bars(canvas, {x_bars, y + 0.3 * size, c.bars, row - 0.6 * size}, pairing);
        draw_state_cell(canvas, {x_found, top, c.found, 2 * line}, pairing.found, size);
        draw_state_cell(canvas, {x_left, top, c.left, 2 * line}, pairing.left, size);
        canvas.text(
            {x_limit, top, c.limit, line}, metrology::limit_text(f), {size, false, false, ink});
        std::string rule;
        if (f.low || f.high)
            rule = f.rule == metrology::Rule::guarded ? fmt::format("guarded, k = {:.2f}", f.k)
                                                      : std::string("simple");
        if (!f.limit_source.empty())
            rule += fmt::format(
                "{}source {}", rule.empty() ? "" : ", ", letter(sources, f.limit_source));
        canvas.text({x_limit, top + line, c.limit, line}, rule, fine);
        y += row;
    }
    if (count > 0) canvas.line({box.x, y}, {box.right(), y}, {hair, 0.5, {}});
    if (!all) {
        std::map<std::string, int> verdicts;
        int required = 0;
        for (auto i = count; i < pairings.size(); ++i) {
            ++verdicts[word(pairings[i].latest().verdict)];
            required += pairings[i].required() ? 1 : 0;
        }
        std::vector<std::string> parts;
        for (auto const& [name, n] : verdicts) parts.push_back(fmt::format("{} {}", n, name));
        auto const rest = fmt::format(
            "{} further findings, not printed here but in the data of this "
            "page ({} of them required), in their last state: {}.",
            pairings.size() - count,
            required,
            joined(parts, ", "));
        canvas.text({box.x, y + 0.24 * size, box.width, line},
                    rest,
                    {size, required > 0, required == 0, required > 0 ? ink : soft});
        y += 1.7 * size;
    }
    // The limits' sources once each, so that none is cut for want of room in its row.
    std::string words;
    for (std::size_t i = 0; i < sources.size(); ++i)
        words +=
            fmt::format("{}{} {}", i == 0 ? "Sources of limits: " : "; ", name_of(i), sources[i]);
    if (!words.empty())
        canvas.paragraph({box.x, y + 0.24 * size, box.width, foot}, words + ".", fine, 2);
    return count;
}

}  // namespace gw::report

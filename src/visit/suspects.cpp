#include "visit/suspects.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"

namespace gw::visit {

namespace {

// A departure from the published responses below this is within what they and a clean detector
// promise.
constexpr double noticeable = 0.06;

std::string percent(double ln) { return fixed(std::abs(100 * std::expm1(ln)), 1) + " %"; }

struct Signs {
    LookEvidence const& e;

    [[nodiscard]] std::optional<double> departure(char const* name) const {
        auto const c = gas::find_component(name);
        for (auto const& p : e.factors.pattern)
            if (c && p.component == *c) return p.departure;
        return std::nullopt;
    }
    [[nodiscard]] std::optional<double> amount(char const* name) const {
        auto const c = gas::find_component(name);
        if (!c) return std::nullopt;
        if (e.cylinder != nullptr && e.cylinder->printed.fraction(*c) > 0)
            return e.cylinder->printed.fraction(*c);
        for (auto const& row : e.report->rows)
            if (row.component == *c && row.mole_percent) return *row.mole_percent / 100;
        return std::nullopt;
    }
    // Largest departure of all components but one.
    [[nodiscard]] double rest(gas::Component but) const {
        double largest = 0;
        for (auto const& p : e.factors.pattern)
            if (p.component != but && p.component != gas::c6_plus)
                largest = std::max(largest, std::abs(p.departure));
        return largest;
    }
    [[nodiscard]] int pairs_with(gas::Component c) const {
        return static_cast<int>(
            std::count_if(e.factors.pairs.begin(), e.factors.pairs.end(), [&](auto const& p) {
                return p.lower == c || p.higher == c;
            }));
    }
};

void swapped_isomers(Signs const& s, std::vector<Suspect>& out) {
    for (auto const& [iso, normal] :
         {std::pair("isobutane", "n-butane"), {"isopentane", "n-pentane"}}) {
        auto const di = s.departure(iso), dn = s.departure(normal), xi = s.amount(iso),
                   xn = s.amount(normal);
        if (!di || !dn || !xi || !xn) continue;
        double const expected =
            std::log(*xn / *xi);  // areas follow the true amounts, the entries are exchanged
        if (std::abs(expected) < 0.05 || std::abs(*di - expected) > 0.06 ||
            std::abs(*dn + expected) > 0.06)
            continue;
        out.push_back({"entries_exchanged",
                       fmt::format("The entries of {} and {} are exchanged", iso, normal),
                       6,
                       {fmt::format("The factor of {} is {} {}, that of {} {} {}: what exchanging "
                                    "{} and {} mol% would do.",
                                    iso,
                                    percent(*di),
                                    *di > 0 ? "high" : "low",
                                    normal,
                                    percent(*dn),
                                    *dn > 0 ? "high" : "low",
                                    fixed(100 * *xi, 4),
                                    fixed(100 * *xn, 4))},
                       "Read the certificate again, the name beside the number; a second person "
                       "reads back."});
    }
}

// Whether the entry, corrected by what its factor departs, makes the amounts add up to 100 mol%.
bool closes_the_sum(Signs const& s, gas::Component c, double departure) {
    auto const x = s.amount(std::string(gas::name(c)).c_str());
    if (!s.e.certificate_off || !x) return false;
    double const off = *s.e.certificate_off, change = 100 * *x * std::expm1(departure);
    return std::abs(change + off) < 0.2 * std::abs(off);
}

void wrong_entry(Signs const& s, std::vector<Suspect>& out) {
    if (!s.e.factors.largest) return;
    auto points = s.e.factors.pattern;
    std::sort(points.begin(), points.end(), [](auto const& a, auto const& b) {
        return std::abs(a.departure) > std::abs(b.departure);
    });
    for (std::size_t k = 0; k < points.size(); ++k) {
        auto const& p = points[k];
        int const pairs = s.pairs_with(p.component);
        bool const stands_out =
            std::abs(p.departure) > noticeable || (pairs > 0 && std::abs(p.departure) > 0.02);
        bool const closes = closes_the_sum(s, p.component, p.departure);
        if (!stands_out || (k > 1 && !closes)) continue;
        double const rest = s.rest(p.component);
        Suspect suspect{"certificate_entry:" + std::string(gas::name(p.component)),
                        fmt::format("The certificate entry of {} is wrong", gas::name(p.component)),
                        0,
                        {},
                        "Compare the typed value with the paper and the cylinder's collar; then "
                        "run a second certified gas as unknown."};
        suspect.weight = std::abs(p.departure) / (0.03 + rest) + 0.5 * pairs - (k == 0 ? 0.0 : 1.0);
        auto const others =
            rest < 0.5 * std::abs(p.departure)
                ? fmt::format(", while no other departs by more than {}", percent(rest))
                : std::string();
        suspect.because.push_back(
            fmt::format("Its factor is {} {} against the published responses{}: the entry would be "
                        "{} by as much.",
                        percent(p.departure),
                        p.departure > 0 ? "high" : "low",
                        others,
                        p.departure > 0 ? "too low" : "too high"));
        if (pairs > 0)
            suspect.because.push_back(fmt::format(
                "{} of {} pairs out of order hold it.", pairs, s.e.factors.pairs.size()));
        if (closes) {
            suspect.because.push_back(
                fmt::format("The printed amounts miss 100 mol% by {}; this entry put right by its "
                            "factor would close the gap.",
                            fixed(*s.e.certificate_off, 4)));
            suspect.weight += 5;  // two independent signs of one size: hardly chance
        }
        out.push_back(std::move(suspect));
    }
}

void air(Signs const& s, std::vector<Suspect>& out) {
    auto const d = s.departure("nitrogen");
    if (!d || *d < noticeable) return;
    auto const nitrogen = *gas::find_component("nitrogen");
    out.push_back(
        {"air_in_calibration_line",
         "Air in the calibration line or regulator",
         *d / (0.04 + s.rest(nitrogen)),
         {fmt::format("The factor of nitrogen is {} high; air adds to its peak and to no other.",
                      percent(*d))},
         "Purge the regulator by pressurising and venting, repeat the run, and see whether the "
         "factor falls."});
}

void wrong_cut(Signs const& s, std::vector<Suspect>& out) {
    auto const pentane = s.departure("n-pentane"), plus = s.departure("C6+"),
               propane = s.departure("propane"), ethane = s.departure("ethane");
    auto const rest = [&](char const* name) { return s.rest(*gas::find_component(name)); };
    // Peak areas go as amount times response; the last pentane and C6+ are near enough alike.
    auto const x5 = s.amount("n-pentane"), x6 = s.amount("C6+");
    bool const balanced =
        pentane && plus && x5 && x6 && *pentane < 0 && *plus > 0 &&
        std::abs(std::log(*x6 * std::expm1(*plus) * 1.25 / (-*x5 * std::expm1(*pentane)))) <
            std::log(2.0);
    char const* confirm =
        "Move the valve event by half a second each way and watch both areas: a plateau shows the "
        "right place.";
    if (pentane && *pentane < -noticeable && (!plus || *plus > 0))
        out.push_back(
            {"cut_early",
             "The heavy fraction is cut off too early",
             -*pentane / (0.03 + rest("n-pentane")) + (plus ? 5 * *plus : 0.0) +
                 (balanced ? 3.0 : 0.0),
             {fmt::format("n-Pentane, the last peak before C6+, is {} low{}.",
                          percent(*pentane),
                          balanced            ? ", and C6+ is high by about as much area"
                          : plus && *plus > 0 ? ", and C6+ is high: its missing part may sit there"
                                              : "")},
             confirm});
    if (plus && *plus < -noticeable && propane && *propane > 0.005)
        out.push_back(
            {"cut_late",
             "The heavy fraction is cut off too late",
             -*plus / 0.06 + 20 * *propane,
             {fmt::format("C6+ is {} low and propane {} high: what slips past the cut follows it.",
                          percent(*plus),
                          percent(*propane))},
             confirm});
    if (ethane && *ethane < -noticeable && plus && *plus > noticeable)
        out.push_back(
            {"light_fraction_cut",
             "The light fraction is sent aside too early or too late",
             -*ethane / (0.03 + rest("ethane")),
             {fmt::format("Ethane is {} low and C6+ {} high.", percent(*ethane), percent(*plus))},
             confirm});
}

void heavy_end(Signs const& s, std::vector<Suspect>& out) {
    // Slope of the departures over carbon number, from propane up.
    double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0, last = 0;
    int last_carbon = 0;
    for (auto const& p : s.e.factors.pattern) {
        int const carbon = gas::carbon_number(p.component);
        if (!gas::is_hydrocarbon(p.component) || carbon < 3) continue;
        n += 1, sx += carbon, sy += p.departure, sxx += carbon * carbon,
            sxy += carbon * p.departure;
        if (carbon > last_carbon) last_carbon = carbon, last = p.departure;
    }
    if (n < 5 || n * sxx - sx * sx <= 0) return;
    double const slope = (n * sxy - sx * sy) / (n * sxx - sx * sx), level = (sy - slope * sx) / n;
    double residual = 0;
    for (auto const& p : s.e.factors.pattern)
        if (gas::is_hydrocarbon(p.component) && gas::carbon_number(p.component) >= 3)
            residual = std::max(
                residual, std::abs(p.departure - level - slope * gas::carbon_number(p.component)));
    double const fall = slope * 3;  // from propane to hexane
    if (std::abs(fall) < noticeable || residual > 0.3 * std::abs(fall) || last * slope < 0) return;
    bool const low = fall < 0;
    out.push_back(
        {low ? "calibration_gas_condensed" : "calibration_gas_enriched",
         low ? "The heavy end of the calibration gas has condensed (cold cylinder)"
             : "The heavy end of the calibration gas is enriched (cylinder nearly empty or warming "
               "after cold)",
         std::abs(fall) / (0.02 + residual),
         {fmt::format(
             "The factors of propane and heavier {} steadily with carbon number, {} from C3 to C6.",
             low ? "fall" : "rise",
             percent(fall))},
         "Look at the lowest temperature and the pressure of the cylinder; warm it for a day, roll "
         "it, purge the regulator and repeat."});
}

void amount_injected(Signs const& s, std::vector<Suspect>& out) {
    if (!s.e.total_percent || std::abs(*s.e.total_percent - 100) < 0.5) return;
    bool const flat = !s.e.factors.largest || std::abs(s.e.factors.largest->departure) < noticeable;
    double const off = *s.e.total_percent - 100;
    out.push_back({"amount_injected",
                   off < 0
                       ? "Less gas is injected than at calibration, or a component is not measured"
                       : "More gas is injected than at calibration, or a peak is counted twice",
                   std::abs(off) / 0.7 * (flat ? 1 : 0.3),
                   {fmt::format("The unnormalised total is {} mol%{}.",
                                fixed(*s.e.total_percent, 3),
                                flat ? " while the factors keep their pattern" : "")},
                   "Compare the barometer with that of the calibration; look at the sample vent, "
                   "loop and filter; then look for a missing peak."});
}

void certificate_itself(Signs const& s, std::vector<Suspect>& out) {
    bool const one_entry_explains =
        std::any_of(s.e.factors.pattern.begin(), s.e.factors.pattern.end(), [&](auto const& p) {
            return closes_the_sum(s, p.component, p.departure);
        });
    if (s.e.certificate_off)
        out.push_back(
            {"certificate_sum",
             "A typed amount, or the certificate itself, is wrong",
             (one_entry_explains ? 0.5 : 1.5) + std::min(2.0, std::abs(*s.e.certificate_off)),
             {fmt::format("The printed amounts miss 100 mol% by {}.",
                          fixed(*s.e.certificate_off, 4))},
             "Add up the paper; if it does not total 100 either, quarantine the cylinder "
             "and ask the laboratory."});
    if (s.e.cv_mismatch)
        out.push_back({"calorific_value_basis",
                       "Other reference conditions, another edition of the tables, or a wrong "
                       "amount behind the printed calorific value",
                       1.2,
                       {s.e.cv_note},
                       "Compare combustion and metering temperatures, pressure base and edition, "
                       "line by line."});
    if (!s.e.factor_faults.empty())
        out.push_back({"factors_not_from_this_run",
                       "The stored factors were not made from this run",
                       1.0,
                       s.e.factor_faults,
                       "Recompute one factor by hand: area over certified amount."});
}

}  // namespace

std::vector<Suspect> suspects(LookEvidence const& evidence) {
    Signs const signs{evidence};
    std::vector<Suspect> out;
    swapped_isomers(signs, out);
    if (out.empty()) wrong_entry(signs, out);  // an exchange explains both entries at once
    air(signs, out);
    wrong_cut(signs, out);
    heavy_end(signs, out);
    amount_injected(signs, out);
    certificate_itself(signs, out);
    std::stable_sort(out.begin(), out.end(), [](Suspect const& a, Suspect const& b) {
        return a.weight > b.weight;
    });
    if (out.size() > 3) out.resize(3);
    return out;
}

}  // namespace gw::visit

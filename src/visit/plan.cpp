#include "visit/plan.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <set>

#include "base/hash.hpp"
#include "base/text.hpp"
#include "shipped_plan_files.hpp"

namespace gw::visit {

namespace {

constexpr std::size_t most_steps = 500;  // of a plan: nobody works through more

using Names = std::set<std::string, std::less<>>;

Result<> only(Field const& object, std::initializer_list<std::string_view> known) {
    GW_TRY(auto const members, object.members());
    for (auto const& [key, field] : members)
        if (std::find(known.begin(), known.end(), key) == known.end())
            return field.wrong("A plan has no such field.", "correct its name or take it out");
    return {};
}

Result<std::string> filled(Field const& object, std::string_view key) {
    GW_TRY(auto const text, object.text(key));
    if (trimmed(text).empty()) return object.find(key)->wrong("A text is needed here.");
    return text;
}

Result<std::vector<std::string>> list(Field const& object, std::string_view key) {
    std::vector<std::string> out;
    auto const field = object.find(key);
    if (!field) return out;
    GW_TRY(auto const items, field->items());
    for (auto const& item : items) {
        GW_TRY(auto const text, item.text());
        out.push_back(text);
    }
    return out;
}

Result<bool> flag(Field const& object, std::string_view key) {
    auto const field = object.find(key);
    return field ? field->boolean() : Result<bool>(false);
}

template <class Enum, std::size_t N>
Result<Enum> one_of(Field const& object, std::string_view key, std::array<Enum, N> const& all) {
    GW_TRY(auto const text, object.text(key));
    std::vector<std::string> names;
    for (auto const value : all) {
        if (text == name(value)) return value;
        names.emplace_back(name(value));
    }
    return object.find(key)->wrong(
        fmt::format("\"{}\" is none of {}.", text.substr(0, 40), joined(names, ", ")),
        "write one of them");
}

Result<Step> read_step(Field const& field, Names& steps) {
    GW_CHECK(only(field,
                  {"name",
                   "what",
                   "why",
                   "caution",
                   "class",
                   "who",
                   "wants",
                   "unit",
                   "low",
                   "high",
                   "limit_source",
                   "role",
                   "gas",
                   "basis",
                   "feeds",
                   "after",
                   "second_person_of",
                   "minutes",
                   "every_time",
                   "source"}));
    Step out;
    GW_TRY(out.name, filled(field, "name"));
    GW_TRY(out.what, filled(field, "what"));
    GW_TRY(out.why, filled(field, "why"));
    GW_TRY(out.caution, field.text_or("caution", ""));
    GW_TRY(out.step_class,
           one_of(field,
                  "class",
                  std::array{StepClass::safety, StepClass::measurement, StepClass::note}));
    GW_TRY(out.who, list(field, "who"));
    GW_TRY(
        out.wants,
        one_of(
            field,
            "wants",
            std::array{
                Wants::words, Wants::reading, Wants::run, Wants::file, Wants::clock, Wants::time}));
    GW_TRY(out.unit, field.text_or("unit", ""));
    GW_TRY(out.low, field.optional_number("low"));
    GW_TRY(out.high, field.optional_number("high"));
    GW_TRY(out.limit_source, field.text_or("limit_source", ""));
    GW_TRY(out.role, field.text_or("role", ""));
    GW_TRY(out.gas, field.text_or("gas", ""));
    GW_TRY(out.basis, field.text_or("basis", ""));
    GW_TRY(out.feeds, field.text_or("feeds", ""));
    GW_TRY(out.after, list(field, "after"));
    GW_TRY(out.second_person_of, field.text_or("second_person_of", ""));
    if (auto const minutes = field.find("minutes")) {
        GW_TRY(out.minutes, minutes->number_within(0, 100000));
    }
    GW_TRY(out.every_time, flag(field, "every_time"));
    GW_TRY(out.source, field.text_or("source", ""));

    if (out.wants == Wants::reading && out.unit.empty())
        return field.wrong("A reading needs its unit.");
    if (out.low || out.high) {
        if (out.wants != Wants::reading) return field.wrong("Only a reading has limits.");
        if (out.limit_source.empty())
            return field.wrong("A limit needs its source.", "fill limit_source");
        if (out.low && out.high && *out.low > *out.high)
            return field.wrong("\"low\" is above \"high\".", "swap them");
    }
    if (out.wants == Wants::run && out.gas != "calibration" && out.gas != "proving" &&
        out.gas != "line")
        return field.wrong("A run is on calibration, proving or line gas.", "fill gas");
    if (!out.basis.empty() && out.basis != "as_found" && out.basis != "as_left")
        return field.wrong("The basis is as_found or as_left.");
    for (auto const& before : out.after)
        if (!steps.contains(plain_name(before)))
            return field.find("after")->wrong(
                fmt::format("No step \"{}\" comes before this one.", before.substr(0, 60)),
                "order the steps so that what must be first stands first");
    if (!out.second_person_of.empty() && !steps.contains(plain_name(out.second_person_of)))
        return field.find("second_person_of")->wrong("No step of this name comes before this one.");
    if (!steps.insert(plain_name(out.name)).second)
        return field.find("name")->wrong(
            fmt::format("Two steps are named \"{}\".", out.name.substr(0, 60)));
    if (steps.size() > most_steps)
        return field.wrong("The plan has more steps than anybody could do.");
    return out;
}

Result<Stage> read_stage(Field const& field, Names& stages, Names& steps) {
    GW_CHECK(only(field, {"name", "title", "establishes", "opens", "steps"}));
    Stage out;
    GW_TRY(out.name, filled(field, "name"));
    GW_TRY(out.title, field.text_or("title", out.name));
    GW_TRY(out.establishes, filled(field, "establishes"));
    GW_TRY(out.opens, flag(field, "opens"));
    if (!stages.insert(plain_name(out.name)).second)
        return field.find("name")->wrong(
            fmt::format("Two stages are named \"{}\".", out.name.substr(0, 60)));
    GW_TRY(auto const list, field.at("steps"));
    GW_TRY(auto const items, list.items());
    if (items.empty()) return list.wrong("A stage has at least one step.");
    for (auto const& item : items) {
        GW_TRY(auto step, read_step(item, steps));
        out.steps.push_back(std::move(step));
    }
    return out;
}

}  // namespace

std::string_view name(StepClass step_class) {
    switch (step_class) {
        case StepClass::safety:
            return "safety";
        case StepClass::measurement:
            return "measurement";
        case StepClass::note:
            return "note";
    }
    return "note";
}

std::string_view name(Wants wants) {
    switch (wants) {
        case Wants::words:
            return "words";
        case Wants::reading:
            return "reading";
        case Wants::run:
            return "run";
        case Wants::file:
            return "file";
        case Wants::clock:
            return "clock";
        case Wants::time:
            return "time";
    }
    return "words";
}

std::string plain_name(std::string_view name) {
    auto out = lowered(trimmed(name));
    for (char& c : out)
        if (c == '-' || c == '_') c = ' ';
    return out;
}

Step const* Plan::find(std::string_view step) const {
    auto const wanted = plain_name(step);
    for (auto const* part : {&stages, &ways_back})
        for (auto const& stage : *part)
            for (auto const& candidate : stage.steps)
                if (plain_name(candidate.name) == wanted) return &candidate;
    return nullptr;
}

Stage const* Plan::stage_of(std::string_view step) const {
    auto const wanted = plain_name(step);
    for (auto const* part : {&stages, &ways_back})
        for (auto const& stage : *part)
            for (auto const& candidate : stage.steps)
                if (plain_name(candidate.name) == wanted) return &stage;
    return nullptr;
}

Result<Plan> read_plan(Field const& root) {
    GW_CHECK(require_schema(root, "plan"));
    GW_CHECK(
        only(root,
             {"schema", "name", "title", "summary", "version", "cautions", "stages", "ways_back"}));
    Plan out;
    GW_TRY(out.name, filled(root, "name"));
    GW_TRY(out.title, filled(root, "title"));
    GW_TRY(out.summary, root.text_or("summary", ""));
    if (auto const version = root.find("version")) {
        GW_TRY(double const number, version->number_within(1, 1e6));
        out.version = static_cast<int>(number);
    }
    GW_TRY(out.cautions, list(root, "cautions"));
    Names stages, steps;
    for (auto const& [key, part] :
         {std::pair("stages", &out.stages), std::pair("ways_back", &out.ways_back)}) {
        auto const field = root.find(key);
        if (!field) continue;
        GW_TRY(auto const items, field->items());
        for (auto const& item : items) {
            GW_TRY(auto stage, read_stage(item, stages, steps));
            part->push_back(std::move(stage));
        }
    }
    if (out.stages.empty()) return root.wrong("A plan has at least one stage.", "fill stages");
    return out;
}

Result<Plan> read_plan(std::string const& text, std::string const& source) {
    GW_TRY(auto const document, parse_json(text, source));
    GW_TRY(auto plan, read_plan(document.root()));
    plan.hash = sha256(text);
    return plan;
}

std::vector<std::string> shipped_plans() {
    std::vector<std::string> out;
    for (auto const& file : generated::shipped_plan_files) {
        auto const path = file.path.substr(file.path.rfind('/') + 1);
        out.emplace_back(path.substr(0, path.rfind('.')));
    }
    return out;
}

Result<std::string> shipped_plan_text(std::string_view name) {
    auto const wanted = plain_name(name);
    auto const names = shipped_plans();
    for (std::size_t i = 0; i < names.size(); ++i)
        if (plain_name(names[i]) == wanted)
            return std::string(generated::shipped_plan_files[i].text);
    return fail(Errc::not_found,
                fmt::format("There is no plan \"{}\".", name.substr(0, 60)),
                "--plan",
                "choose " + joined(names, ", "));
}

}  // namespace gw::visit

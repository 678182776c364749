// Handing something in: what the file is, whether it can be read, who may, and the entry.
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "bench/sum.hpp"
#include "desk/load.hpp"
#include "desk/visit.hpp"
#include "desk/visit_append.hpp"
#include "desk/visit_passport.hpp"
#include "trace/series_table.hpp"

namespace gw::desk {

namespace {

// What a run says of itself: when it was, and of which stream.
void note_run(Run const& run, visit::GivenFile& file) {
    if (auto const* trace = std::get_if<trace::Trace>(&run)) {
        file.of = trace->start;
        if (auto const stream = trace->header.find("stream"); stream != trace->header.end())
            file.stream = stream->second;
        return;
    }
    for (auto const& [key, value] : std::get<trace::ReportTable>(run).header) {
        if (key == "stream") file.stream = value;
        if (key == "start" || key == "time" || key == "at")
            if (auto const at = parse_instant(value, key)) file.of = *at;
    }
}

// A file with a role is read once before it is taken, so that a wrong one is refused at the door.
Result<> require_readable(visit::Step const& step,
                          std::string_view bytes,
                          std::string const& path) {
    if (step.role == "method") return method_of(bytes, path).map([](auto const&) {});
    if (step.role == "calibration") return calibration_of(bytes, path).map([](auto const&) {});
    if (step.role == "calibration_cylinder" || step.role == "proving_cylinder")
        return cylinder_of(bytes, path).map([](auto const&) {});
    if (step.role == "settling_series") return series_of(bytes, path).map([](auto const&) {});
    return {};
}

// The leak test of `bench leak`, from the file of its inputs: the step's reading.
Result<visit::GivenFile::Reading> leak_of(std::string_view bytes, std::string const& path) {
    GW_TRY(auto const document, parse_json(bytes, path));
    auto const& kind = *bench::find_sum("leak");
    auto const no_gas = [](std::string const&, std::string const& where) {
        return Result<gas::Composition>(
            fail(Errc::bad_input, "A leak test needs no gas.", where, "leave it out"));
    };
    GW_TRY(auto const inputs, bench::read_sum_inputs(kind, document.root(), {}, no_gas));
    GW_TRY(auto const sum, bench::worked(kind, inputs));
    for (auto const& result : sum.results)
        if (result.key == "leak_rate") {
            constexpr double mbar_litre = 0.1;  // Pa m3
            return visit::GivenFile::Reading{
                result.si.value / mbar_litre, result.si.u / mbar_litre, "mbar L/s"};
        }
    return fail(Errc::bad_input,
                "Without both temperatures a fall of pressure says nothing of a leak.",
                path,
                "add t1 and t2");
}

// People who are known must have one of the roles that a step asks for.
Result<> require_role(store::Store const& store, visit::Step const& step, std::string const& who) {
    if (step.who.empty()) return {};
    GW_TRY(auto const person, store.thing("person:" + who));
    if (!person) return {};
    GW_TRY(auto const known, parse_json(person->body, "person:" + who));
    std::vector<std::string> has;
    if (auto const roles = known.root().find("roles")) {
        if (roles->is_text()) has.push_back(*roles->text());
        if (roles->is_array()) {
            GW_TRY(auto const list, roles->items());
            for (auto const& role : list)
                if (role.is_text()) has.push_back(*role.text());
        }
    }
    for (auto const& role : step.who)
        if (std::find(has.begin(), has.end(), role) != has.end()) return {};
    return fail(
        Errc::conflict,
        fmt::format(
            "\"{}\" is for: {}; {} is not known as such.", step.name, joined(step.who, ", "), who),
        "--by",
        "name who did it, or record the role with gaswright thing add person");
}

}  // namespace

Result<Recorded> add_to_visit(store::Store& store,
                              std::string const& id,
                              VisitAdd const& what,
                              visit::Act const& act) {
    auto request = what.request;
    std::string own;
    std::string_view bytes;
    auto const& path = what.run_path.empty() ? what.file_path : what.run_path;
    if (!what.run_path.empty() && !what.file_path.empty())
        return fail(Errc::bad_input, "Too much at once.", "command line", "give --run or --file");
    if (!path.empty()) {
        if (what.borrowed) {
            bytes = *what.borrowed;
        } else if (what.bytes) {
            bytes = *what.bytes;
        } else {
            GW_TRY(own, read_file(path));
            bytes = own;
        }
        visit::GivenFile file;
        file.name =
            path == "-" ? "standard input" : std::filesystem::path(path).filename().string();
        file.is_run = !what.run_path.empty();
        file.sha256 = sha256(bytes);
        if (file.is_run) {
            GW_TRY(auto const run, run_of(bytes, path));
            note_run(run, file);
        }
        request.file = std::move(file);
    }
    return record(
        store, id, request.step, act, [&](LoadedVisit const& loaded) -> Result<store::Append> {
            auto const* asked = loaded.state.plan->find(request.step);
            if (asked != nullptr && asked->role == "leak_test" && request.file &&
                !request.file->is_run && !request.aside) {
                GW_TRY(request.file->reading, leak_of(bytes, path));
            }
            GW_TRY(auto entry, visit::add(loaded.state, request, act));
            if (auto const* step = asked) {
                if (!path.empty() && !request.aside) GW_CHECK(require_readable(*step, bytes, path));
                if (entry.kind != "note") GW_CHECK(require_role(store, *step, act.who));
            }
            store::Append append;
            if (entry.kind == "evidence" && request.value)
                if (auto event = passport_event(
                        loaded, request.step, std::string(trimmed(*request.value)), false, act))
                    append.entries.push_back(*std::move(event));
            append.entries.push_back(std::move(entry));  // last: it is the one that is answered
            if (!path.empty()) append.borrowed.push_back(bytes);
            return append;
        });
}

}  // namespace gw::desk

#include "desk/visit.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "app/store_options.hpp"

namespace gw::app {

namespace {

// ---- new

struct NewArgs : StoreArgs {
    desk::VisitStart start;
};

Result<Answer> begin(NewArgs const& args, Context const& context) {
    // What was mistyped is refused before an absent store is made.
    GW_TRY([[maybe_unused]] auto const plan, visit::shipped_plan_text(args.start.plan));
    GW_TRY(auto const act, act_of(args, context));
    GW_TRY(auto const store, opened_store(args, context, true));
    GW_TRY(auto const id, desk::start_visit(*store, args.start, act));
    return Answer{
        Json{{"visit", id}},
        fmt::format("Visit {} is open. Look at it with:  gaswright visit show {}\n", id, id),
        {},
        true};
}

void add_new(CLI::App& visit, Context& context) {
    auto args = std::make_shared<NewArgs>();
    auto* command = visit.add_subcommand(
        "new", "Open a visit; an unknown analyser and an absent store are made");
    command->footer("Example:  gaswright visit new --plan exchange --analyser PX-1\nPlans: " + [] {
        std::string names;
        for (auto const& name : visit::shipped_plans()) names += (names.empty() ? "" : ", ") + name;
        return names;
    }());
    command->add_option("--plan", args->start.plan, "What kind of visit")->required();
    command->add_option("--analyser", args->start.analyser, "Tag of the analyser")->required();
    command->add_option("--site", args->start.site, "Site");
    command->add_option("--title", args->start.title, "A few words on the reason");
    command->add_option("--criteria",
                        args->start.criteria,
                        "Criteria of its findings: custody, us-federal, oiml-a");
    add_record_options(*command, *args);
    command->callback([args, &context] { context.finish(begin(*args, context), args->json); });
}

// ---- show and list

struct ShowArgs : StoreArgs {
    std::string id;
};

Result<Answer> show(ShowArgs const& args, Context const& context) {
    GW_TRY(auto const store, opened_store(args, context, false));
    GW_TRY(auto const shown, desk::show_visit(*store, args.id, context.now()));
    return Answer{visit::visit_json(shown), visit::visit_text(shown), shown.warnings, true};
}

void add_show(CLI::App& visit, Context& context) {
    auto args = std::make_shared<ShowArgs>();
    auto* command = visit.add_subcommand(
        "show",
        "What now, with its cautions; what was recorded; what still stands before a signature");
    command->footer("Example:  gaswright visit show PX1-20260302-4f1a");
    command->add_option("id", args->id, "The visit, or the beginning of its name")->required();
    add_store_option(*command, *args);
    command->callback([args, &context] { context.finish(show(*args, context), args->json); });
}

struct ListArgs : StoreArgs {
    store::VisitFilter filter;
};

Result<Answer> list(ListArgs const& args, Context const& context) {
    GW_TRY(auto const store, opened_store(args, context, false));
    GW_TRY(auto const lines, store->visits(args.filter));
    return Answer{desk::visits_json(lines), desk::visits_text(lines), {}, true};
}

void add_list(CLI::App& visit, Context& context) {
    auto args = std::make_shared<ListArgs>();
    auto* command = visit.add_subcommand("list", "The visits, newest first");
    command->footer("Example:  gaswright visit list --open");
    command->add_option("--analyser", args->filter.analyser, "Of one analyser only");
    command->add_flag("--open", args->filter.open_only, "Open and interrupted ones only");
    command->add_option("--limit", args->filter.limit, "At most so many");
    add_store_option(*command, *args);
    command->callback([args, &context] { context.finish(list(*args, context), args->json); });
}

// ---- add

struct AddArgs : StoreArgs {
    std::string id;
    desk::VisitAdd what;
};

Result<Answer> answer(Result<desk::Recorded> const& recorded) {
    if (!recorded) return pass_on(recorded.error());
    return Answer{desk::recorded_json(*recorded), desk::recorded_text(*recorded), {}, true};
}

Result<Answer> add(AddArgs const& args, Context const& context) {
    GW_TRY(auto const act, act_of(args, context));
    GW_TRY(auto const store, opened_store(args, context, false));
    return answer(desk::add_to_visit(*store, args.id, args.what, act));
}

void add_add(CLI::App& visit, Context& context) {
    auto args = std::make_shared<AddArgs>();
    auto& request = args->what.request;
    auto* command =
        visit.add_subcommand("add", "Record evidence for a step, a note, or why there is none");
    command->footer(
        "Example:  gaswright visit add ID --stage restore --step tight --value 3e-5 --unit \"mbar "
        "L/s\" --u 1e-5 --with G-17 --by \"A. Person\"");
    command->add_option("id", args->id, "The visit")->required();
    command->add_option("--stage", request.stage, "Stage, for example \"as found\"")->required();
    command->add_option("--step", request.step, "Step of it")->required();
    command->add_option("--value", request.value, "What was read or seen: a number, or words");
    command->add_option("--unit", request.unit, "Unit of the number");
    command->add_option("--u", request.u, "Its standard uncertainty, same unit");
    command->add_option("--run", args->what.run_path, "A run: trace or printed report; kept");
    command->add_option(
        "--file", args->what.file_path, "A file: certificate, settings, series, photograph; kept");
    command->add_option("--note", request.note, "A remark; it settles nothing");
    command->add_option("--with", request.with, "Serial of the instrument");
    command->add_option("--stream", request.stream, "Stream of a run on line gas");
    command->add_option(
        "--override", request.override_reason, "Pass a measurement step, with the reason");
    command->add_option("--not-done", request.not_done, "Not done, with the reason");
    command->add_option("--not-obtainable",
                        request.not_obtainable,
                        "Not to be had, with the reason and what stands in");
    command->add_option(
        "--not-applicable", request.not_applicable, "Does not apply here, with the reason");
    command->add_option("--second", request.second, "Second person who passes a safety step");
    command->add_option("--permit", request.permit, "Reference of the permit for it");
    add_record_options(*command, *args);
    command->callback([args, &context] { context.finish(add(*args, context), args->json); });
}

// ---- undo, interrupt, resume, back, end

struct ReasonArgs : StoreArgs {
    std::string id, reason;
    std::optional<std::int64_t> entry;
};

template <class Do>
void add_with_reason(CLI::App& visit,
                     Context& context,
                     char const* name,
                     char const* what,
                     char const* example,
                     bool needs_reason,
                     bool entry,
                     Do const& act) {
    auto args = std::make_shared<ReasonArgs>();
    auto* command = visit.add_subcommand(name, what);
    command->footer(example);
    command->add_option("id", args->id, "The visit")->required();
    auto* reason = command->add_option("--reason", args->reason, "Why");
    if (needs_reason) reason->required();
    if (entry)
        command->add_option(
            "--entry", args->entry, "Number of the entry (default: the last one that stands)");
    add_record_options(*command, *args);
    command->callback([args, &context, act] {
        auto const done = [&]() -> Result<Answer> {
            GW_TRY(auto const who, act_of(*args, context));
            GW_TRY(auto const store, opened_store(*args, context, false));
            return answer(act(*store, *args, who));
        };
        context.finish(done(), args->json);
    });
}

struct BackArgs : StoreArgs {
    std::string id;
    visit::WayBackRequest what;
};

void add_back(CLI::App& visit, Context& context) {
    auto args = std::make_shared<BackArgs>();
    auto* command = visit.add_subcommand(
        "back", "Turn back: stop and make safe, refit the old module, or leave on fallback");
    command->footer(
        "Example:  gaswright visit back ID --to \"stop and make safe\" --reason \"storm coming\"");
    command->add_option("id", args->id, "The visit")->required();
    command->add_option("--to", args->what.to, "Which way back")->required();
    command->add_option("--reason", args->what.reason, "Why")->required();
    command->add_option(
        "--until", args->what.until, "Last day of a fallback, for example 2026-03-09");
    command->add_option("--owner", args->what.owner, "Who owns the fallback");
    add_record_options(*command, *args);
    command->callback([args, &context] {
        auto const done = [&]() -> Result<Answer> {
            GW_TRY(auto const act, act_of(*args, context));
            GW_TRY(auto const store, opened_store(*args, context, false));
            return answer(desk::turn_back(*store, args->id, args->what, act));
        };
        context.finish(done(), args->json);
    });
}

struct EndArgs : StoreArgs {
    std::string id;
    visit::EndRequest what;
};

void add_end(CLI::App& visit, Context& context) {
    auto args = std::make_shared<EndArgs>();
    auto* command =
        visit.add_subcommand("end", "End a visit as what it became; what is open stays listed");
    command->footer(
        "Example:  gaswright visit end ID --as on-fallback --until 2026-03-09 --owner \"B. "
        "Person\"");
    command->add_option("id", args->id, "The visit")->required();
    command->add_option("--as", args->what.as, "completed, on-fallback or abandoned")->required();
    command->add_option("--reason", args->what.reason, "Why");
    command->add_option("--until", args->what.until, "Last day of the fallback");
    command->add_option("--owner", args->what.owner, "Who owns the fallback");
    add_record_options(*command, *args);
    command->callback([args, &context] {
        auto const done = [&]() -> Result<Answer> {
            GW_TRY(auto const act, act_of(*args, context));
            GW_TRY(auto const store, opened_store(*args, context, false));
            return answer(desk::end_visit(*store, args->id, args->what, act));
        };
        context.finish(done(), args->json);
    });
}

}  // namespace

void add_visit(CLI::App& program, Context& context) {
    auto* visit = program.add_subcommand(
        "visit", "A call to site and its record: stages, evidence, findings, what may be signed");
    visit->require_subcommand(1);
    visit->footer(
        "Example:  gaswright visit new --plan exchange --analyser PX-1\nA record and a reminder: "
        "it gives nobody leave to proceed.");
    add_new(*visit, context);
    add_show(*visit, context);
    add_list(*visit, context);
    add_add(*visit, context);
    add_with_reason(*visit,
                    context,
                    "undo",
                    "Take an entry out of force; it stays in the record",
                    "Example:  gaswright visit undo ID --reason \"wrong cylinder\"",
                    false,
                    true,
                    [](store::Store& store, ReasonArgs const& args, visit::Act const& act) {
                        return desk::undo_in_visit(store, args.id, args.entry, args.reason, act);
                    });
    add_with_reason(*visit,
                    context,
                    "interrupt",
                    "Leave a visit for hours or days",
                    "Example:  gaswright visit interrupt ID --reason \"night; carrier on, power "
                    "off and locked\"",
                    true,
                    false,
                    [](store::Store& store, ReasonArgs const& args, visit::Act const& act) {
                        return desk::interrupt_visit(store, args.id, args.reason, act);
                    });
    add_with_reason(*visit,
                    context,
                    "resume",
                    "Go on; gas test, permit and isolation are asked for again",
                    "Example:  gaswright visit resume ID",
                    false,
                    false,
                    [](store::Store& store, ReasonArgs const& args, visit::Act const& act) {
                        return desk::resume_visit(store, args.id, act);
                    });
    add_back(*visit, context);
    add_end(*visit, context);
    add_visit_handover(*visit, context);
}

}  // namespace gw::app

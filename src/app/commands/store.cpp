#include "desk/store.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "app/store_options.hpp"
#include "base/file.hpp"
#include "desk/bundle.hpp"

namespace gw::app {

namespace {

struct StoreCommandArgs : StoreArgs {
    std::string head, target, against;
};

store::StoreOptions options_of(StoreCommandArgs const& args, Context const& context) {
    store::StoreOptions options;
    options.file = store_path(args);
    options.now = context.now();
    return options;
}

Result<Answer> check(StoreCommandArgs const& args, Context const& context) {
    std::optional<store::Head> known;
    if (!args.head.empty()) {
        GW_TRY(known, desk::read_head(args.head, "--head"));
    }
    GW_TRY(auto checked, store::check_store(options_of(args, context), known));
    // Against a bundle only where the record is sound in itself: else its own fault comes first.
    if (!args.against.empty() && checked.intact()) {
        GW_TRY(auto const bytes, read_file(args.against));
        auto const bundle = desk::check_bundle(bytes, args.against, {});
        GW_TRY(auto const store, opened_store(args, context, false));
        GW_TRY(auto const fault, desk::against_bundle(*store, bundle));
        if (fault) {
            checked.first_bad = *fault;
            checked.faults = 1;
        }
    }
    auto json = desk::checked_json(checked);
    if (!args.against.empty()) json["against"] = args.against;
    return Answer{
        std::move(json), desk::checked_text(checked, store_path(args)), {}, checked.intact()};
}

Result<Answer> backup(StoreCommandArgs const& args, Context const& context) {
    GW_TRY(auto const store, opened_store(args, context, false));
    GW_CHECK(store->backup(args.target));
    auto options = options_of(args, context);
    options.file = args.target;
    GW_TRY(auto const checked, store::check_store(options, std::nullopt));
    auto json = desk::checked_json(checked);
    json["file"] = args.target;
    return Answer{std::move(json), desk::checked_text(checked, args.target), {}, checked.intact()};
}

Result<Answer> migrate(StoreCommandArgs const& args, Context const& context) {
    GW_TRY(auto const done, store::migrate_store(options_of(args, context)));
    auto const text =
        done.from == done.to
            ? fmt::format("The store has form {}, which is the newest; nothing was changed.\n",
                          done.to)
            : fmt::format("The store was brought from form {} to {}; as it was: {}\n",
                          done.from,
                          done.to,
                          done.backup);
    return Answer{Json{{"from", done.from},
                       {"to", done.to},
                       {"backup", done.backup.empty() ? Json(nullptr) : Json(done.backup)}},
                  text,
                  {},
                  true};
}

}  // namespace

void add_store(CLI::App& program, Context& context) {
    auto* store = program.add_subcommand("store", "Care of the record: check, backup, migrate");
    store->require_subcommand(1);
    store->footer("Example:  gaswright store check");

    auto args = std::make_shared<StoreCommandArgs>();
    auto* command = store->add_subcommand(
        "check", "Work out every hash, file and list again; name what is wrong");
    command->footer(
        "Example:  gaswright store check --head 42:0123...   (a head noted on a handover)");
    command->add_option("--head",
                        args->head,
                        "A head noted elsewhere, ENTRIES:HASH: its entry must still be there");
    command->add_option("--against",
                        args->against,
                        "A bundle of a visit: all that it tells of must still be there, unchanged");
    add_store_option(*command, *args);
    command->callback([args, &context] { context.finish(check(*args, context), args->json); });

    args = std::make_shared<StoreCommandArgs>();
    command = store->add_subcommand("backup",
                                    "A whole copy in a new file, also while others write; checked");
    command->footer("Example:  gaswright store backup 2026-03-02.db");
    command->add_option("file", args->target, "The new file")->required();
    add_store_option(*command, *args);
    command->callback([args, &context] { context.finish(backup(*args, context), args->json); });

    args = std::make_shared<StoreCommandArgs>();
    command = store->add_subcommand(
        "migrate", "Bring a store of an older program to the form of this one; a copy is kept");
    command->footer("Example:  gaswright store migrate");
    add_store_option(*command, *args);
    command->callback([args, &context] { context.finish(migrate(*args, context), args->json); });
}

}  // namespace gw::app

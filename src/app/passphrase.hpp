#pragma once
/// Where the passphrase of a key comes from: a file, the environment, else the terminal without
/// showing what is typed.
#include <memory>
#include <string>

#include "base/result.hpp"
#include "desk/key.hpp"

namespace CLI {
class App;
}

namespace gw::app {

struct PassphraseArgs {
    std::string file;
};
void add_passphrase_option(CLI::App& command, PassphraseArgs& args);

/// `prompt`: what the terminal shows. `twice`: typed again, as for a new key. Fails with bad_input
/// when there is neither file nor environment nor a terminal. May be empty: the caller decides.
Result<desk::Secret> passphrase(PassphraseArgs const& args, std::string const& prompt, bool twice);

/// A key file, opened; asks for its passphrase when it has one.
Result<desk::SigningKey> opened_key(std::string const& path,
                                    PassphraseArgs const& args,
                                    std::vector<std::string>& warnings);

}  // namespace gw::app

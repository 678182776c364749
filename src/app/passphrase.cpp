#include "app/passphrase.hpp"

#include <fcntl.h>
#include <termios.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <cstdlib>

#include "base/file.hpp"

namespace gw::app {

namespace {

constexpr std::size_t longest = 4096;
constexpr char const* variable = "GASWRIGHT_PASSPHRASE";

// The terminal itself, whatever standard input is; what is typed is not shown.
class Terminal {
  public:
    Terminal() : file_(::open("/dev/tty", O_RDWR | O_NOCTTY | O_CLOEXEC)) {
        if (file_ < 0) return;
        hidden_ = ::tcgetattr(file_, &before_) == 0;
        auto silent = before_;
        silent.c_lflag &= ~static_cast<tcflag_t>(ECHO);
        hidden_ = hidden_ && ::tcsetattr(file_, TCSAFLUSH, &silent) == 0;
    }
    ~Terminal() {
        if (hidden_) ::tcsetattr(file_, TCSAFLUSH, &before_);
        if (file_ >= 0) ::close(file_);
    }
    Terminal(Terminal const&) = delete;
    Terminal& operator=(Terminal const&) = delete;
    [[nodiscard]] bool there() const { return hidden_; }

    [[nodiscard]] desk::Secret ask(std::string const& prompt) const {
        say(prompt);
        std::string typed;
        typed.reserve(longest);  // never moved, so that no copy stays behind
        char c = 0;
        while (typed.size() < longest && ::read(file_, &c, 1) == 1 && c != '\n') typed += c;
        say("\n");
        return desk::Secret(std::move(typed));
    }

  private:
    void say(std::string const& text) const {
        [[maybe_unused]] auto const done = ::write(file_, text.data(), text.size());
    }
    int file_;
    bool hidden_ = false;
    termios before_{};
};

}  // namespace

void add_passphrase_option(CLI::App& command, PassphraseArgs& args) {
    command.add_option("--passphrase-file",
                       args.file,
                       "File whose first line is the passphrase (else the variable "
                       "GASWRIGHT_PASSPHRASE, else it is asked for)");
}

Result<desk::Secret> passphrase(PassphraseArgs const& args, std::string const& prompt, bool twice) {
    if (!args.file.empty()) {
        GW_TRY(auto text, read_file(args.file, longest));
        // The line alone; the buffer is wiped with the rest of it.
        auto const end = text.find_first_of("\r\n");
        std::string line = text.substr(0, end);
        desk::Secret const rest(std::move(text));
        return desk::Secret(std::move(line));
    }
    // NOLINTNEXTLINE(concurrency-mt-unsafe): read before any thread is started
    if (auto const* stated = std::getenv(variable); stated != nullptr)
        return desk::Secret(std::string(stated));
    Terminal const terminal;
    if (!terminal.there())
        return fail(Errc::bad_input,
                    "There is no terminal to ask for the passphrase.",
                    "--passphrase-file",
                    "name a file that holds it, or set GASWRIGHT_PASSPHRASE");
    auto first = terminal.ask(prompt);
    if (twice && !(terminal.ask("The same again: ") == first))
        return fail(Errc::bad_input,
                    "The two passphrases differ.",
                    "passphrase",
                    "type the same one twice");
    return first;
}

Result<desk::SigningKey> opened_key(std::string const& path,
                                    PassphraseArgs const& args,
                                    std::vector<std::string>& warnings) {
    GW_TRY(auto const text, read_file(path));
    GW_TRY(auto const file, desk::read_key(text, path));
    if (auto warning = desk::key_file_warning(path); !warning.empty())
        warnings.push_back(std::move(warning));
    if (!file.has_passphrase) return desk::open_key(file, {}, path);
    GW_TRY(auto const secret, passphrase(args, "Passphrase of " + file.name + ": ", false));
    return desk::open_key(file, secret, path);
}

}  // namespace gw::app

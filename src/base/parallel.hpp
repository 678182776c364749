#pragma once
/// Ordered parallel loop: fixed chunks, results in index order, so that the answer does not depend
/// on the number of threads.
#include <algorithm>
#include <atomic>
#include <cstddef>
#include <exception>
#include <thread>
#include <vector>

namespace gw {

struct ParallelOptions {
    unsigned threads = 0;   ///< 0: as many as the machine has
    std::size_t chunk = 1;  ///< items handed out at once; the result never depends on it
};

/// out[i] = work(i) for i in [0, count). `work` must not touch shared state. The first exception
/// (by index) is thrown again in the caller once all threads have stopped.
template <class Work>
auto parallel_map(std::size_t count, Work&& work, ParallelOptions const& options = {}) {
    using Value = decltype(work(std::size_t{}));
    std::vector<Value> out(count);
    std::size_t const chunk = std::max<std::size_t>(options.chunk, 1);
    std::size_t const chunks = (count + chunk - 1) / chunk;
    unsigned const available =
        options.threads != 0 ? options.threads : std::max(1U, std::thread::hardware_concurrency());
    auto const workers = static_cast<unsigned>(std::min<std::size_t>(available, chunks));
    std::vector<std::exception_ptr> problems(chunks);
    std::atomic<std::size_t> next{0};
    auto const run = [&] {
        for (std::size_t c = next++; c < chunks; c = next++) {
            try {
                for (std::size_t i = c * chunk; i < std::min(count, (c + 1) * chunk); ++i)
                    out[i] = work(i);
            } catch (...) {
                problems[c] = std::current_exception();
            }
        }
    };
    if (workers <= 1) {
        run();
    } else {
        std::vector<std::jthread> pool;
        pool.reserve(workers);
        for (unsigned w = 0; w < workers; ++w) pool.emplace_back(run);
    }
    for (auto const& problem : problems)
        if (problem) std::rethrow_exception(problem);
    return out;
}

}  // namespace gw

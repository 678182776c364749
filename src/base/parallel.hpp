#pragma once
/// Ordered parallel loop: fixed chunks, results in index order, so that the answer does not depend
/// on the number of threads.
#include <algorithm>
#include <atomic>
#include <condition_variable>
#include <cstddef>
#include <exception>
#include <map>
#include <mutex>
#include <optional>
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

/// consume(i, work(i)) for i in [first, count), consume in order and in the calling thread, so that
/// what is written does not depend on the number of threads. No more than a few values a thread
/// wait to be consumed: memory does not grow with count. When consume answers false, or anything
/// throws, the work under way is finished and no more begun; the first exception is thrown again.
template <class Work, class Consume>
void parallel_stream(
    std::size_t first, std::size_t count, Work&& work, Consume&& consume, unsigned threads = 0) {
    using Value = decltype(work(std::size_t{}));
    unsigned const workers =
        threads != 0 ? threads : std::max(1U, std::thread::hardware_concurrency());
    std::size_t const window = std::size_t{4} * workers;
    std::mutex guard;
    std::condition_variable changed;
    std::map<std::size_t, Value> waiting;
    std::size_t next = first, consumed = first;
    bool stop = false;
    std::exception_ptr problem;
    auto const run = [&] {
        std::unique_lock lock(guard);
        for (;;) {
            changed.wait(lock, [&] { return stop || next >= count || next < consumed + window; });
            if (stop || next >= count) return;
            std::size_t const mine = next++;
            lock.unlock();
            std::optional<Value> value;
            std::exception_ptr thrown;
            try {
                value.emplace(work(mine));
            } catch (...) {
                thrown = std::current_exception();
            }
            lock.lock();
            if (thrown) {
                if (!problem) problem = thrown;
                stop = true;
            } else {
                waiting.emplace(mine, std::move(*value));
            }
            changed.notify_all();
        }
    };
    {
        std::vector<std::jthread> pool;
        pool.reserve(workers);
        for (unsigned w = 0; w < workers; ++w) pool.emplace_back(run);
        std::unique_lock lock(guard);
        while (!stop && consumed < count) {
            changed.wait(lock, [&] { return stop || waiting.count(consumed) != 0; });
            if (stop) break;
            auto held = waiting.extract(consumed);
            lock.unlock();
            bool go_on = false;
            try {
                go_on = consume(held.key(), std::move(held.mapped()));
            } catch (...) {
                lock.lock();
                problem = std::current_exception(), stop = true;
                changed.notify_all();
                break;
            }
            lock.lock();
            ++consumed;
            if (!go_on) stop = true;
            changed.notify_all();
        }
        if (lock.owns_lock()) lock.unlock();
    }
    if (problem) std::rethrow_exception(problem);
}

}  // namespace gw

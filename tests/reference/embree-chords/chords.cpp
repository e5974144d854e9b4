// Lengths of rays within a closed mesh by Embree's ray intersections, for comparison with the projector.
// usage: chords MESH.bin OUT.bin ROUNDS
// MESH.bin: int32 rows, columns, vertices, triangles; float64 spacing, central column, central row, source x, y, z; float32 vertices x 3; int32 corners x 3.
// OUT.bin: float32 rows x columns, mm. Prints the milliseconds of building the hierarchy, and of each round of casting with its processor milliseconds.
// Every ray starts at the source and passes all surfaces: each hit is taken in an intersection filter, +t where it leaves, -t where it enters.
#include <embree3/rtcore.h>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <thread>
#include <vector>
#include <atomic>

struct Context { RTCIntersectContext base; double sum[16]; };

static void take(const RTCFilterFunctionNArguments* a)
{
    Context* context = reinterpret_cast<Context*>(a->context);
    for (unsigned i = 0; i < a->N; i++) {
        if (a->valid[i] != -1) continue;
        float nx = RTCHitN_Ng_x(a->hit, a->N, i), ny = RTCHitN_Ng_y(a->hit, a->N, i), nz = RTCHitN_Ng_z(a->hit, a->N, i);
        float dx = RTCRayN_dir_x(a->ray, a->N, i), dy = RTCRayN_dir_y(a->ray, a->N, i), dz = RTCRayN_dir_z(a->ray, a->N, i);
        float t = RTCRayN_tfar(a->ray, a->N, i);
        unsigned id = RTCRayN_id(a->ray, a->N, i);
        context->sum[id] += nx * dx + ny * dy + nz * dz > 0 ? t : -t;
        a->valid[i] = 0;
    }
}

template <class T> static T get(FILE* f) { T v; if (fread(&v, sizeof v, 1, f) != 1) { fprintf(stderr, "the mesh file ends early\n"); exit(2); } return v; }

int main(int argc, char** argv)
{
    if (argc != 4) { fprintf(stderr, "usage: chords MESH.bin OUT.bin ROUNDS\n"); return 2; }
    FILE* f = fopen(argv[1], "rb");
    if (!f) { perror(argv[1]); return 2; }
    int rows = get<int32_t>(f), columns = get<int32_t>(f), vertices = get<int32_t>(f), triangles = get<int32_t>(f);
    double spacing = get<double>(f), column0 = get<double>(f), row0 = get<double>(f), sx = get<double>(f), sy = get<double>(f), sz = get<double>(f);
    RTCDevice device = rtcNewDevice(nullptr);
    auto started = std::chrono::steady_clock::now();
    RTCScene scene = rtcNewScene(device);
    rtcSetSceneFlags(scene, RTCSceneFlags(RTC_SCENE_FLAG_ROBUST | RTC_SCENE_FLAG_CONTEXT_FILTER_FUNCTION));
    RTCGeometry geometry = rtcNewGeometry(device, RTC_GEOMETRY_TYPE_TRIANGLE);
    float* v = static_cast<float*>(rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3, 12, vertices));
    uint32_t* c = static_cast<uint32_t*>(rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT3, 12, triangles));
    // Relative to the source, so that single precision is spent on directions and not on places.
    for (int i = 0; i < 3 * vertices; i++) v[i] = float(get<float>(f) - (i % 3 == 0 ? sx : i % 3 == 1 ? sy : sz));
    for (int i = 0; i < 3 * triangles; i++) c[i] = get<int32_t>(f);
    fclose(f);
    rtcCommitGeometry(geometry);
    rtcAttachGeometry(scene, geometry);
    rtcReleaseGeometry(geometry);
    rtcCommitScene(scene);
    printf("build %.2f\n", std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - started).count());
    std::vector<float> lengths(size_t(rows) * columns);
    unsigned threads = std::thread::hardware_concurrency();
    for (int round = 0; round < atoi(argv[3]); round++) {
        started = std::chrono::steady_clock::now();
        clock_t processor = clock();
        std::atomic<int> next{0};
        auto work = [&] {
            for (int row; (row = next++) < rows;) {
                for (int column = 0; column < columns; column += 8) {
                    alignas(32) int valid[8];
                    RTCRay8 ray;
                    double length[8];
                    for (int k = 0; k < 8; k++) {
                        double dx = (column + k - column0) * spacing - sx, dy = (row - row0) * spacing - sy, dz = -sz;
                        length[k] = std::sqrt(dx * dx + dy * dy + dz * dz);
                        valid[k] = column + k < columns ? -1 : 0;
                        ray.org_x[k] = ray.org_y[k] = ray.org_z[k] = 0;
                        ray.dir_x[k] = float(dx / length[k]); ray.dir_y[k] = float(dy / length[k]); ray.dir_z[k] = float(dz / length[k]);
                        ray.tnear[k] = 0; ray.tfar[k] = float(length[k]); ray.time[k] = 0; ray.mask[k] = ~0u; ray.id[k] = k; ray.flags[k] = 0;
                    }
                    Context context{};
                    rtcInitIntersectContext(&context.base);
                    context.base.filter = take;
                    context.base.flags = RTC_INTERSECT_CONTEXT_FLAG_COHERENT;
                    rtcOccluded8(valid, scene, &context.base, &ray);
                    for (int k = 0; k < 8 && column + k < columns; k++) lengths[size_t(row) * columns + column + k] = float(context.sum[k]);
                }
            }
        };
        std::vector<std::thread> pool;
        for (unsigned k = 0; k < threads; k++) pool.emplace_back(work);
        for (auto& thread : pool) thread.join();
        printf("cast %.2f %.2f\n", std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - started).count(), 1000.0 * (clock() - processor) / CLOCKS_PER_SEC);
    }
    FILE* out = fopen(argv[2], "wb");
    if (!out || fwrite(lengths.data(), 4, lengths.size(), out) != lengths.size()) { perror(argv[2]); return 2; }
    fclose(out);
    rtcReleaseScene(scene);
    rtcReleaseDevice(device);
}
